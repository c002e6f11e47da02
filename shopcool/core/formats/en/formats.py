"""Dates that read the same on both sides of the ocean: the month is a word, the clock has 24 hours."""

DATE_FORMAT = "j F Y"
TIME_FORMAT = "H:i"
DATETIME_FORMAT = "j F Y, H:i"
MONTH_DAY_FORMAT = "j M"
SHORT_DATE_FORMAT = "j M Y"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
