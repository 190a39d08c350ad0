"""A set put together by one person, from opening the count sheet to signing it off."""
