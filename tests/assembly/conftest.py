"""What most tests of the bench start from."""

from __future__ import annotations

import pytest

from assembly.models import Build
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make


@pytest.fixture
def instrument(db: None) -> Instrument:
    return make.Instrument(item_number="T-1")


@pytest.fixture
def build(db: None) -> Build:
    return at.a_build()
