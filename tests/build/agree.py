"""Whether all documents of a results folder tell the same; one sentence for all that differs."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC
from decimal import Decimal

import jsonschema_rs

from tests.build.schema import SCHEMA
from tests.build.sheets import Results, bed_number, moment

COLUMNS, LINES = 80, 25


def disagreements(made: Results) -> list[str]:
    """What one document tells otherwise than ``plan.json``."""
    checks = (shape, _terminal, _finish, _beds, _files, _grams, _spools, _cost, _pieces, _visits)
    return [f"{check.__name__.lstrip('_')}: {told}" for check in checks for told in check(made)]


def shape(made: Results) -> list[str]:
    """Where ``plan.json`` is not as its schema has it: the first place."""
    try:
        jsonschema_rs.validate(SCHEMA, made.plan)
    except jsonschema_rs.ValidationError as error:
        return [f"plan.json at {list(error.instance_path)}: {error.message[:200]}"]
    return []


def _terminal(made: Results) -> Iterator[str]:
    lines = made.terminal.rstrip("\n").split("\n")
    if len(lines) > LINES or any(len(line) > COLUMNS for line in lines[:-1]):
        yield f"{len(lines)} lines, {max(map(len, lines))} columns on the terminal"
    for label, answer in made.answers.items():
        told = made.told.get(label)
        first = answer.split("  ")[0]
        if told is None:
            yield f"{label} is not on the terminal"
        elif told.split()[:3] != first.split()[:3]:
            yield f"{label}: {told!r} on the terminal, {answer!r} in the report"


def _finish(made: Results) -> Iterator[str]:
    """The end of the last run, on every sheet; also of a failed one, whose good pieces may be the last."""
    plan = made.plan
    ends = [moment(run["end"]) for run in plan["runs"]]
    ends = ends or [moment(past["run"]["end"]) for past in plan["past"]]
    finish = moment(plan["schedule"]["finish"])
    if ends and finish != max(ends):
        yield f"schedule.finish is {finish}, the last run ends {max(ends)}"
    words = f"{finish:%Y-%m-%d %H:%M}"
    for where, told in (("terminal", made.told), ("report", made.answers)):
        if words not in told.get("Finished", ""):
            yield f"{where} says {told.get('Finished')!r}, not {words}"
    last = [event for event in made.events if "finish@" in event["UID"] or "-finish" in event["UID"]]
    if [event["DTSTART"].dt.astimezone(UTC) for event in last] != [finish.astimezone(UTC)]:
        yield f"calendar: {[str(event['DTSTART'].dt) for event in last]}, not {finish}"


def _beds(made: Results) -> Iterator[str]:
    """Beds are counted alike, run once each, and have their sheet with run and pieces."""
    plan = made.plan
    names = [batch["batch"] for batch in plan["batches"]]
    if sorted(names) != sorted(run["batch"] for run in plan["runs"]) or len(set(names)) != len(names):
        yield f"batches {names} are not the runs"
    if names:
        for where, told in (("terminal", made.told), ("report", made.answers)):
            if not re.search(rf"\b{len(names)} beds?\b", told["Fits"]):
                yield f"{where} says {told['Fits']!r} of {len(names)} beds"
    for batch in plan["batches"]:
        page = made.bed_pages.get(batch["batch"], "")
        run = next(run for run in plan["runs"] if run["batch"] == batch["batch"])
        wanted = [placed["piece"] for placed in batch["placed"]]
        wanted += [f"{moment(run['start']):%Y-%m-%d %H:%M}", f"{moment(run['end']):%H:%M}", run["printer"]]
        missing = [word for word in wanted if " ".join(word.split()) not in page]
        if missing:
            yield f"the sheet of {batch['batch']} lacks {missing[:4]}"


def _files(made: Results) -> Iterator[str]:
    """Bed N lies in file N and in no other, with just its pieces."""
    plan = made.plan
    wanted = {f"{bed_number(batch['batch']):02d}.3mf": batch for batch in plan["batches"]}
    if set(wanted) - set(made.bed_files):
        yield f"no bed file for {sorted(set(wanted) - set(made.bed_files))}"
    for name, (title, items) in made.bed_files.items():
        batch = wanted.get(name)
        if batch is None:
            yield f"beds/{name} belongs to no bed of the plan ({title})"
        elif title.split(":")[0] != batch["batch"]:
            yield f"beds/{name} is titled {title!r}"
        elif sorted(items) != sorted(placed["piece"] for placed in batch["placed"]):
            yield f"beds/{name} holds other pieces than {batch['batch']}"
    drawn = sorted(path.stem for path in (made.folder / "bed_plans").glob("*.svg"))
    asked = sorted(f"{bed_number(b['batch']):02d}_{b['batch'].replace(' ', '_')}" for b in plan["batches"])
    if drawn != asked:
        yield f"drawings {drawn}, not {asked}"


def _thousandths(told: float) -> tuple[float, ...]:
    """What may have been rounded to it."""
    return told - 0.0005, told, told + 0.0005


def _grams(made: Results) -> Iterator[str]:
    """The mass on every sheet; grams of parts and beds."""
    plan = made.plan
    total, printed = (
        {f"{head}{told:.{digits}f} g" for digits in (0, 1) for told in _thousandths(plan["mass"][key])}
        for head, key in (("", "total_g"), ("printed ", "printed_g"))  # small masses with a tenth
    )
    for where, told in (("terminal", made.told), ("report", made.answers)):
        if not told["Weighs"].startswith(tuple(total)) or not any(one in told["Weighs"] for one in printed):
            yield f"{where} says {told['Weighs']!r}, not {min(total)} and {min(printed)}"
    items = [item for item in plan["mass"]["items"] if item["kind"] == "printed"]
    if abs(sum(item["mass_g"] for item in items) - plan["mass"]["printed_g"]) > 0.001 * (len(items) + 1):
        yield "the printed items do not add up to printed_g"
    rows = {row["part"]: row for row in made.rows("parts.csv")}
    for part in plan["parts"]:
        if abs(float(rows[part["part"]]["mass_g"]) - part["mass_g"]) > 0.0006:
            yield f"parts.csv has {rows[part['part']]['mass_g']} g for {part['part']}, not {part['mass_g']}"


def _spools(made: Results) -> Iterator[str]:
    """Grams of spools in both tables, and what is to be bought in five places."""
    plan = made.plan
    rows = {row["spool"]: row for row in made.rows("spools.csv")}
    if set(rows) != {use["spool"] for use in plan["spools"]}:
        yield "spools.csv lists other spools"
    for use in plan["spools"]:
        for key in ("grams_before", "grams_used", "grams_purged", "grams_left"):
            if abs(float(rows[use["spool"]][key]) - use[key]) > 0.0006:
                yield f"spools.csv: {key} of {use['spool']} is not {use[key]}"
    bought = Counter(use["filament"] for use in plan["spools"] if use["bought"])
    told = {where: _bought(words.get("Buy", "")) for where, words in _words(made).items()}
    told["spools.csv"] = Counter(row["filament"] for row in rows.values() if row["bought"] == "yes")
    told["workbook"] = _shopping(made)
    told["spool sheet"] = Counter(
        {_unlettered(row[0]): int(row[1]) for row in made.table("filament", "how many")}
    )
    told["spool sheet"].pop("together", None)
    for where, found in told.items():
        if found != bought:
            yield f"{where} buys {dict(found)}, plan.json {dict(bought)}"


def _words(made: Results) -> dict[str, dict[str, str]]:
    return {"terminal": made.told, "report": made.answers}


def _bought(text: str) -> Counter[str]:
    return Counter({name: int(n) for n, name in re.findall(r"(\d+) x (.+?) [\d ]+ g\b", text)})


def _unlettered(text: str) -> str:
    """A filament without the letter that marks it on the sheets."""
    return re.sub(r"^[A-Z](?=[ A-Za-z])\s?", "", text, count=1) if text != "together" else text


def _shopping(made: Results) -> Counter[str]:
    """Spools of the list in the workbook, by the filament that a row begins with."""
    found: Counter[str] = Counter()
    for row in made.sheet("Shopping"):
        if row[1] == "filament":
            found[re.sub(r", spool of [\d ,.]+ g$", "", str(row[0]))] += int(row[2])
    return found


def _cost(made: Results) -> Iterator[str]:
    """The total in all places; the lines of table and workbook."""
    plan = made.plan
    total = Decimal(plan["cost"]["total"])
    row = next(row for row in made.rows("cost_sheet.csv") if row["kind"] == "total")
    if Decimal(row["amount"]) != total:
        yield f"cost_sheet.csv: {row['amount']}, not {total}"
    sheet = made.sheet("Cost")
    kept = next(row[5] for row in sheet if row[1] == "Total")
    if abs(Decimal(str(kept)) - total) > Decimal("0.005"):
        yield f"workbook: {kept}, not {total}"
    lines = sum(
        (Decimal(c["amount"]) for c in plan["cost"]["lines"] if c["amount"] and c["in_total"]), Decimal(0)
    )
    if lines != total:
        yield f"the lines add up to {lines}, not {total}"
    amount = f"{total:,.2f}".replace(",", " ")
    for where, told in _words(made).items():
        if amount not in told["Costs"].replace("\xa0", " ").replace("\u202f", " "):
            yield f"{where} says {told['Costs']!r}, not {amount}"


def _pieces(made: Results) -> Iterator[str]:
    """As many pieces in the title and the table of parts as in the plan."""
    plan = made.plan
    words = f"{len(plan['pieces'])} piece{'s' * (len(plan['pieces']) != 1)}"
    title = made.terminal.split("\n", 1)[0]
    if words not in title or words not in " ".join(made.page.text_content().split()):
        yield f"the title says {title!r}, not {words}"
    counted = Counter(piece["part"] for piece in plan["pieces"])
    rows = {row["part"]: int(row["pieces"]) for row in made.rows("parts.csv")}
    if rows != dict(counted):
        yield "parts.csv counts other pieces"


def _visits(made: Results) -> Iterator[str]:
    """The same visits in the calendar, the timetable and the answers."""
    visits = made.plan["schedule"]["visits"]
    starts = sorted(moment(visit["at"]).astimezone(UTC) for visit in visits)
    events = sorted(e["DTSTART"].dt.astimezone(UTC) for e in made.events if "-visit-" in e["UID"])
    if starts != events:
        yield f"{len(events)} visits in the calendar, {len(starts)} in plan.json"
    table = [row[0] for row in made.table("when", "minutes", "what to do")]
    wanted = [f"{moment(visit['at']):%Y-%m-%d %H:%M}" for visit in visits]
    if [
        re.search(r"\d{4}-\d\d-\d\d \d\d:\d\d", row)[0] for row in table if re.search(r"\d{4}-", row)
    ] != wanted:
        yield f"the timetable tells {table}, not {wanted}"
