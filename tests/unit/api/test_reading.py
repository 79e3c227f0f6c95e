"""Records and meshes become one job: whose hours, which file, what start, what is set aside."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta, timezone
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from planner.api import reading
from planner.api.request import PlanRequest
from planner.errors import InputError, RecordError
from planner.io.toml_file import parse_toml
from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.finding import Finding
from planner.model.part import LARGEST_MM
from tests.builders import box, stl_bytes

NOW = datetime(2026, 12, 1, 18, 7, 42, 99, tzinfo=timezone(timedelta(hours=5)))
EVENINGS = Attendance((WeeklyWindow((0,), time(18), time(22)),), zone="Europe/Lisbon")


def test_without_a_start_it_is_now_to_the_minute_on_the_clock_of_the_workshop() -> None:
    """18:07 five hours east of Greenwich is 13:07 in Lisbon in winter."""
    found = reading.start_time(None, EVENINGS, NOW)
    assert found.isoformat() == "2026-12-01T13:07:00+00:00"
    assert found.tzinfo == ZoneInfo("Europe/Lisbon")
    assert reading.start_time(None, Attendance(), NOW).isoformat() == "2026-12-01T18:07:00+05:00"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2026-07-01T18:00:59", "2026-07-01T18:00:00+01:00"),  # wall time, summer time
        ("2026-12-05", "2026-12-05T00:00:00+00:00"),
        ("2026-12-01T18:00+05:30", "2026-12-01T12:30:00+00:00"),  # that moment, on the workshop's clock
        ("2000-01-01T00:00", "2000-01-01T00:00:00+00:00"),
        ("2200-12-31T23:59", "2200-12-31T23:59:00+00:00"),
    ],
)
def test_a_start_is_taken_as_it_is_written(text: str, told: str) -> None:
    assert reading.start_time(text, EVENINGS, NOW).isoformat() == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("soon", "'soon' is not a date and time."),
        ("2026-13-01", "'2026-13-01' is not a date and time."),
        ("1999-12-31T23:59", "the year 1999 is not between 2000 and 2200."),
        ("2201-01-01T00:00", "the year 2201 is not between 2000 and 2200."),
    ],
)
def test_a_start_that_is_none_is_refused(text: str, told: str) -> None:
    with pytest.raises(RecordError) as caught:
        reading.start_time(text, EVENINGS, NOW)
    assert (caught.value.what, caught.value.where) == (told, "--start")
    assert caught.value.next_step == "Write it like 2026-12-01T18:00."


def test_a_record_is_looked_for_inside_the_folder_and_then_beside_it(tmp_path: Path) -> None:
    """The file that was named goes before both; for a mesh file its folder counts."""
    kit = tmp_path / "kit"
    kit.mkdir()
    mesh = kit / "a.stl"
    asked, single = PlanRequest((kit,)), PlanRequest((mesh,))
    assert reading.beside(asked, None, "workshop.toml") is None
    (tmp_path / "workshop.toml").touch()
    assert reading.beside(asked, None, "workshop.toml") == tmp_path.resolve() / "workshop.toml"
    (kit / "workshop.toml").touch()
    assert reading.beside(asked, None, "workshop.toml") == kit / "workshop.toml"
    assert reading.beside(single, None, "workshop.toml") == kit / "workshop.toml"
    assert reading.beside(asked, tmp_path / "mine.toml", "workshop.toml") == tmp_path / "mine.toml"


def test_without_a_workshop_a_built_in_one_is_assumed_and_told() -> None:
    shop, printers, assumed = reading.workshop_of(None)
    assert [one.name for one in shop.printers] == ["desktop 220"]
    assert shop.spools == ()
    assert set(printers) > {"desktop 220", "round 300"}
    assert len(assumed) == 1
    assert assumed[0].startswith('no workshop.toml was found: one built-in printer "desktop 220"')


HOURS = '[[attendance]]\nfrom = "18:00"\nuntil = "22:00"\n'
MACHINE = '[[printer]]\nname = "a"\nlike = "desktop 220"\n'
NOBODY = "workshop.toml names no attendance: somebody is taken to be there at every hour"


@pytest.mark.parametrize(
    ("text", "zone", "taken", "told"),
    [
        (MACHINE + HOURS, None, "UTC", ["no time_zone is given: hours are taken in UTC"]),
        (
            MACHINE + HOURS,
            "Asia/Tokyo",
            "Asia/Tokyo",
            ["no time_zone is given: hours are those of this computer, Asia/Tokyo"],
        ),
        ('time_zone = "Europe/Lisbon"\n' + MACHINE + HOURS, "Asia/Tokyo", "Europe/Lisbon", []),
        (MACHINE, None, "UTC", [NOBODY]),
        ('time_zone = "Europe/Lisbon"\n' + MACHINE, None, "Europe/Lisbon", [NOBODY]),
    ],
)
def test_whose_hours_they_are(text: str, zone: str | None, taken: str, told: list[str]) -> None:
    """The file's zone before that of the computer, and UTC only where neither is known."""
    shop, _, assumed = reading.workshop_of(parse_toml(text, "workshop.toml"), zone)
    assert shop.attendance.zone == taken
    assert list(assumed) == told


def test_the_built_in_printers_are_in_the_currency_of_the_file() -> None:
    """A currency of another kind falls to the reader, which refuses it by its line."""
    text = 'currency = "USD"\ntime_zone = "UTC"\n' + MACHINE + HOURS
    shop, _, _ = reading.workshop_of(parse_toml(text, "workshop.toml"))
    assert shop.currency == "USD"
    with pytest.raises(RecordError, match="currency"):
        reading.workshop_of(parse_toml(f"currency = 5\n{MACHINE}", "workshop.toml"))


def test_what_is_larger_than_any_bed_is_set_aside(tmp_path: Path) -> None:
    """To the millimetre: the longest that may be stays."""
    (tmp_path / "long.stl").write_bytes(stl_bytes(box(LARGEST_MM, 10.0, 10.0)))
    (tmp_path / "longer.stl").write_bytes(stl_bytes(box(10.0, LARGEST_MM + 1.0, 10.0)))
    folder = reading.meshes_of((tmp_path,), "millimeter", None)
    assert [one.name for one in folder.meshes] == ["long.stl"]
    assert [(one.mesh, one.reason) for one in folder.set_aside] == [
        ("longer.stl", "it is 5001 mm long; the limit is 5000 mm. Check the unit of its export.")
    ]


def test_a_folder_without_a_usable_mesh_is_refused_with_the_reasons(tmp_path: Path) -> None:
    """Five of them at most, and what to give instead."""
    for n in range(7):
        (tmp_path / f"m{n}.stl").write_bytes(b"solid x\nendsolid x\n")
    with pytest.raises(InputError) as caught:
        reading.read_job(PlanRequest((tmp_path,)), NOW)
    assert caught.value.what.startswith("no usable mesh was found: m0.stl: ")
    assert caught.value.what.count(".stl: ") == 5
    assert caught.value.where == str(tmp_path)
    assert "STL" in caught.value.next_step


def test_progress_tells_meshes_as_they_are_read(tmp_path: Path) -> None:
    for n in range(3):
        (tmp_path / f"m{n}.stl").write_bytes(stl_bytes(box(10.0 + n, 10.0, 10.0)))
    told: list[tuple[str, int, int]] = []
    reading.meshes_of((tmp_path,), None, lambda *step: told.append(step))
    assert {stage for stage, _, _ in told} == {"read meshes"}
    assert [done for _, done, _ in told] == sorted(done for _, done, _ in told)
    assert told[-1][1:] == (3, 3)


def test_copies_of_a_name_and_of_a_file_multiply() -> None:
    """``clip x4`` that a file places twice makes eight."""
    suggestion = SimpleNamespace(copies=4, hand="left", mirror=True)
    folder = SimpleNamespace(
        meshes=[SimpleNamespace(name="clip x4.3mf", suggestion=suggestion, copies_in_file=2)]
    )
    (hint,) = reading.hints_of(folder)
    assert (hint.name, hint.copies, hint.hand, hint.mirror) == ("clip x4.3mf", 8, "left", True)


def test_doubts_about_what_is_not_printed_are_left_out() -> None:
    """Of an option that is not chosen, and of pairs of which one is not printed."""
    doubts = [Finding("a.stl", "thin"), Finding("b.stl", "thin"), Finding("shape", "odd")]
    pair = Finding("a.stl", "the same as b.stl", others=("b.stl",))
    record = {"a.stl": [pair, doubts[0]], "b.stl": [doubts[1]]}
    folder = SimpleNamespace(
        findings=(doubts[2],), meshes=[SimpleNamespace(name=k, findings=v) for k, v in record.items()]
    )
    parts = [
        SimpleNamespace(mesh="a.stl", copies=1, option=None),
        SimpleNamespace(mesh="b.stl", copies=1, option=("gear", "wheels")),
    ]
    skid = SimpleNamespace(parts=parts, chosen=lambda option: option is None)
    both = SimpleNamespace(parts=parts, chosen=lambda _: True)
    assert reading._of_what_is_printed(folder, skid) == (doubts[2], doubts[0])
    assert reading._of_what_is_printed(folder, both) == (doubts[2], pair, doubts[0], doubts[1])
    parts[0].copies = 0
    assert reading._of_what_is_printed(folder, both) == (doubts[2], doubts[1])


def test_a_record_that_cannot_be_read_does_not_hide_the_meshes(tmp_path: Path) -> None:
    """The page shows them while the file is mended; where it can be read, its unit counts."""
    (tmp_path / "a.stl").write_bytes(stl_bytes(box(4.0, 5.0, 6.0)))
    record = tmp_path / "airframe.toml"
    record.write_text("[airframe\n", encoding="utf-8")
    guessed = reading.mesh_folder(tmp_path)
    assert [one.name for one in guessed.meshes] == ["a.stl"]
    record.write_text('[airframe]\nunit = "inch"\n', encoding="utf-8")
    (inches,) = reading.mesh_folder(tmp_path).meshes
    assert inches.mesh.extents.tolist() == pytest.approx([101.6, 127.0, 152.4])  # 25.4 mm to the inch


def test_a_zone_is_told_where_no_hours_name_one() -> None:
    start = datetime(2026, 12, 1, 18, tzinfo=timezone(timedelta(hours=-3, minutes=-30)))
    asked = PlanRequest((Path("kit"),))
    anywhere, lisbon = SimpleNamespace(attendance=Attendance()), SimpleNamespace(attendance=EVENINGS)
    told = reading._zone_note(anywhere, start, asked)
    assert told == ("no time_zone is given: times are those of this machine, UTC-0330",)
    assert reading._zone_note(lisbon, start, asked) == ()
    assert reading._zone_note(anywhere, start.astimezone(UTC), PlanRequest((Path("kit"),), zone="UTC")) == ()
