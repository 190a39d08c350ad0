"""Amounts in the units a reader prefers: metric, or inches and pounds; kept in the session."""

from __future__ import annotations

from decimal import Decimal

from django.http import HttpRequest

from assembly.rules.findings import Show, metric
from catalog.units import show_length, show_weight

SESSION_KEY = "units"
CHOICES = ("metric", "inch")
POUND_G = 453.59237


def show_inch(value: float, unit: str) -> str:
    """An amount for somebody who reads inches, ounces and pounds; the rest as it is.

    >>> show_inch(25.4, "mm"), show_inch(11339.80925, "g"), show_inch(134, "C")
    ('1 in', '25 lb', '134 °C')
    """
    if unit == "mm":
        sign = "-" if value < 0 else ""
        return sign + show_length(Decimal(str(abs(value))), "in")
    if unit == "g":
        return show_weight(Decimal(str(value)), "lb" if abs(value) >= POUND_G else "oz")
    return metric(value, unit)


def show_for(request: HttpRequest) -> Show:
    """The reader's way to write amounts."""
    return show_inch if request.session.get(SESSION_KEY) == "inch" else metric
