"""Changes on record, for templates."""

from __future__ import annotations

from django import template

from catalog.history import differences, field_words, in_words, is_long

register = template.Library()
for each in (differences, field_words, in_words, is_long):
    register.filter(each)
