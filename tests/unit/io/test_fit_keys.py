"""Nozzles and plates in ``workshop.toml`` and in recipes, and beds that ask for them in ``plan.json``."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from planner.errors import RecordError
from planner.io.results.plan_beds import batch_of
from planner.model.fit import ANY, Fit
from planner.report.exports.plan_json import plan_json
from planner.report.exports.plan_json_beds import batch_record
from planner.report.lookup import Lookup
from tests.plan_samples import sample_plan
from tests.unit.io.test_records import airframe, workshop

PRINTER = '[[printer]]\nname = "tower"\nlike = "desktop 220"\n'


def test_they_are_read() -> None:
    """Of printers, filaments and recipes."""
    text = PRINTER + 'nozzle_mm = 0.5\nnozzles = ["0.4 hardened"]\nplate = "smooth"\nplates = ["rough"]\n'
    text += 'plate_minutes = 3\n[[filament]]\nname = "fibre"\nlike = "PA"\n'
    text += "hardened_nozzle = true\nnozzle_mm = 0.4\n"
    shop = workshop(text)
    assert shop.printers[0].fit_for(shop.filament("fibre").asks()) == (1, 0)
    assert shop.printers[0].refit_minutes((0, 0), (1, 1)) == 18
    part = airframe('[recipe.thick]\nnozzle_mm = 0.6\nplate = "rough"\n[defaults]\nrecipe = "thick"\n')
    assert shop.filament("PLA").asks(part.airframe.parts[0].recipe) == Fit(0.6, plate="rough")


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ('nozzles = ["wide"]', r"line 4: printer 'tower': nozzles = 'wide' is no nozzle. Write it like"),
        ('plates = ["rough"]', "plates needs plate"),
        ("nozzles = 0.6", "must be"),
        ("fitted = [0, 1]", "has no key 'fitted'"),
        ('plate = ""\nplate_minutes = 9999', "plate_minutes = 9999 is above the limit"),
    ],
)
def test_what_is_refused(written: str, words: str) -> None:
    """By file and line."""
    with pytest.raises(RecordError, match=words):
        workshop(PRINTER + written + "\n")


def test_a_bed_is_read_as_it_was_written() -> None:
    """And a bed that asks for nothing says nothing."""
    plan = sample_plan()
    look = Lookup(plan)
    for fit in (Fit(0.6, plate="rough"), Fit(hardened=True), ANY):
        assert batch_of(batch_record(replace(plan.batches[0], fit=fit), look)).fit == fit
    asked = replace(plan, batches=(replace(plan.batches[0], fit=Fit(0.6)), *plan.batches[1:]))
    told = json.loads(plan_json(asked))["batches"]
    assert told[0]["fit"] == {"nozzle_mm": 0.6, "hardened": False, "plate": ""}
    assert all("fit" not in one for one in told[1:])
