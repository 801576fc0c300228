"""Daily records: fetch, read, check, fill, move to the site."""
