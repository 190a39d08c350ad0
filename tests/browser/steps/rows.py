"""Rows that the browser tests need beside the demo: a set that can be signed as it is.

Ten lines, all accepting one cycle; the last may be gone without, the first takes a
substitute. A second set has only that last line and one before it, for tests whose matter
is what comes after the counting. ``site.served`` adds them to a demo (``added``).
"""

from __future__ import annotations

CODE = "BT-SET"
SHORT = "BT-TWO"
"""Two lines of one piece; the second may be gone without."""
SUBSTITUTE = "BT-90"
SECOND = "second-hollin-fell"
WANTED = [(f"BT-{number:02d}", 1 + number % 2) for number in range(1, 11)]
"""Each line's item number, and how many it wants: 15 pieces."""
SCRIPT = f"""
from django.contrib.auth.models import Group, User
from catalog.models import *
container = (
    Container.objects.exclude(tare_g=None).exclude(filter="").order_by("-inner_length_mm").first()
)
container.programmes.set(Programme.objects.filter(active=True))
def sheet_of(code, name):
    one = InstrumentSet.objects.create(code=code, name=name, container=container)
    return CountSheet.objects.create(instrument_set=one, revision=1, state="current",
                                     approved_by="Bea Hartsop")
sheet, short = sheet_of("{CODE}", "Browser set"), sheet_of("{SHORT}", "Short browser set")
def make(number, name):
    made = Instrument.objects.create(item_number=number, name=name, length_mm=140, width_mm=60,
        height_mm=11, weight_g=40, tip="blunt", protector="", hinged=True)
    programme = Programme.objects.filter(active=True, method="steam").order_by("code").first()
    CycleOption.objects.create(instrument=made, method="steam", drying_min=programme.drying_min,
        temperature_c=programme.temperature_c, exposure_min=programme.exposure_min)
    return made
for number in range(1, 11):
    line = Line.objects.create(count_sheet=sheet, order=number, quantity=1 + number % 2,
        section="Lower layer" if number > 5 else "Upper layer", may_go_without=number == 10,
        instrument=make(f"BT-{{number:02d}}", f"Bench forceps no. {{number}}"))
    if number == 1:
        line.substitutes.add(make("{SUBSTITUTE}", "Spare forceps"))
    if number in (2, 10):
        Line.objects.create(count_sheet=short, order=number, quantity=1,
            may_go_without=number == 10, instrument=line.instrument)
second = User.objects.create_user("second", password="{SECOND}",
                                  first_name="Ida", last_name="Crow")
second.groups.add(Group.objects.get(name="technician"))
"""
