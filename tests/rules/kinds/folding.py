"""What the tests of folds and wraps start from: ways to fold, sheets as sold, a tray."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from assembly.rules.kinds.folds import Folding
from tests.rules.given import instrument, policy

STRICT = Folding.of(policy())
MID_LINE = replace(STRICT, whole_top=False)
METRIC = (500, 600, 750, 900, 1000, 1200, 1370)
INCH = (20, 24, 30, 36, 40, 45, 48, 54)
TRAY = instrument(480, 250, 50, 3000)

sides = st.floats(20, 700)
depths = st.floats(1, 300)
foldings = st.builds(
    Folding, st.floats(0, 100), st.floats(0, 100), st.floats(0, 100), st.floats(0, 200),
    st.booleans(),
)  # fmt: skip
