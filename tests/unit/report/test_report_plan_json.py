"""The JSON record of a plan and its published schema."""

import hashlib
import json
from dataclasses import replace
from datetime import datetime
from importlib import resources

import jsonschema
import jsonschema_rs
import pytest

from planner.report.exports.plan_json import plan_hash, plan_json, plan_record
from tests.plan_edges import bare_plan, crowded_plan, empty_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan

PLANS = [sample_plan, hostile_plan, empty_plan, bare_plan, misfit_plan, crowded_plan]


@pytest.fixture(scope="module")
def validator() -> jsonschema_rs.Draft202012Validator:
    """A compiled one, as thousands of records are asked; the schema itself is checked by another library."""
    text = (resources.files("planner.report") / "plan.schema.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema_rs.Draft202012Validator(schema)


@pytest.mark.parametrize("make", PLANS)
def test_every_plan_is_valid(make, validator) -> None:
    """The text that is written reads back as a record that the schema accepts, for every edge."""
    validator.validate(json.loads(plan_json(make())))


def _objects(value, path=()):
    if isinstance(value, dict):
        yield path, value
        for key, inner in value.items():
            yield from _objects(inner, (*path, key))
    elif isinstance(value, list) and value:
        yield from _objects(value[0], (*path, 0))


def _at(record, path):
    for step in path:
        record = record[step]
    return record


FREE = {("airframe", "options"), ("schedule", "print_hours"), ("cost", "totals"), ("cost", "apart")}


def test_schema_notices_every_missing_field(validator) -> None:
    """Whichever field is taken out of a record, the schema refuses the rest."""
    record = plan_record(sample_plan())
    tried = 0
    for path, found in _objects(record):
        if path in FREE:
            continue
        for key, value in tuple(found.items()):
            del found[key]
            assert not validator.is_valid(record), (path, key)
            found[key] = value
            tried += 1
    assert tried > 100


def test_schema_notices_an_unknown_field(validator) -> None:
    """A field that nobody published is refused everywhere but in the balance, which is open."""
    record = plan_record(sample_plan())
    for path, found in tuple(_objects(record)):
        found["surprise"] = {"x": 1}
        assert validator.is_valid(record) == (path == ("balance",)), path
        del found["surprise"]


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("start",), "2026-12-01T18:00:00"),
        (("cost", "total"), 131.65),
        (("cost", "total"), "131,65"),
        (("currency",), "euro"),
        (("parts", 0, "mass_g"), -1.0),
        (("batches", 0, "bed", "shape"), "hexagon"),
        (("parts", 0, "pose", "rotation"), [1, 0, 0]),
    ],
)
def test_schema_notices_wrong_values(path, value, validator) -> None:
    """Times without an offset, money as numbers, negative grams and the like are refused."""
    record = plan_record(sample_plan())
    _at(record, path[:-1])[path[-1]] = value
    assert not validator.is_valid(record)


def test_same_plan_same_bytes() -> None:
    """Two plans that were made alike give the same text and the same identification."""
    assert plan_json(sample_plan()) == plan_json(sample_plan())
    assert plan_hash(sample_plan()) == plan_record(sample_plan())["identification"]


@pytest.mark.parametrize("make", PLANS)
def test_the_text_is_that_of_the_standard_library(make) -> None:
    """Every digit, every blank: what writes the file quicker writes the same."""
    plan = make()
    assert plan_json(plan) == json.dumps(plan_record(plan), ensure_ascii=False, indent=1) + "\n"


def test_identification_is_the_digest_of_the_rest() -> None:
    """Anybody can compute the identification again from the file."""
    record = json.loads(plan_json(sample_plan()))
    told = record.pop("identification")
    text = json.dumps(record, ensure_ascii=False)
    assert hashlib.sha256(text.encode("utf-8")).hexdigest() == told


def test_identification_follows_the_numbers() -> None:
    """A plan with another seed has another identification."""
    plan = sample_plan()
    assert plan_hash(replace(plan, seed=2)) != plan_hash(plan)


def test_numbers_are_those_of_the_plan() -> None:
    """Grams of runs and spools in the record add up, and money stays exact to the minor unit."""
    record = plan_record(sample_plan())
    drawn = sum(draw["grams"] for run in record["runs"] for draw in run["spools"])
    used = sum(spool["grams_used"] for spool in record["spools"])
    assert drawn == pytest.approx(used, abs=0.005)  # each of the ten grams is rounded to 1 mg
    cents = [
        round(float(line["amount"]) * 100)
        for line in record["cost"]["lines"]
        if line["amount"] and line["in_total"]
    ]
    assert f"{sum(cents) / 100:.2f}" == record["cost"]["total"]
    part = record["parts"][0]
    plan = sample_plan()
    seconds = plan.deposits[part["part"]].seconds["small 220"].sum()
    assert part["minutes"] == pytest.approx(seconds / 60, abs=0.005)
    assert part["timed_on"] == "small 220"


def test_times_carry_their_offset() -> None:
    """Times are written in the workshop's zone; one without a zone is taken to be in it."""
    plan = sample_plan()
    assert plan_record(plan)["start"] == "2026-12-01T18:00:00+00:00"
    summer = replace(plan, start=datetime(2026, 7, 1, 9, 30))  # noqa: DTZ001 - without a zone on purpose
    assert plan_record(summer)["start"] == "2026-07-01T09:30:00+01:00"
