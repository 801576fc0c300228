"""Arrays in, arrays out: daylight, snow, soil, moisture."""
