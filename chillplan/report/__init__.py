"""What a grower looks at: tables, pictures, page, calendar, labels."""
