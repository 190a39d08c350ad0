"""Days and times on pages as ``assembly.rules.days`` writes them on paper."""

DATE_FORMAT = SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = SHORT_DATETIME_FORMAT = "j M Y, H:i"
