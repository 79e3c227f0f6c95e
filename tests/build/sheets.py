"""A results folder as a reader sees it: every document read by a program of its own."""

from __future__ import annotations

import csv
import json
import re
import xml.etree.ElementTree as Xml
import zipfile
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import icalendar
import lxml.html
import openpyxl

Record = dict[str, Any]
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


@dataclass(frozen=True)
class Results:
    """One results folder, and what the terminal said when it was written."""

    folder: Path
    terminal: str

    @cached_property
    def plan(self) -> Record:
        """``plan.json``."""
        found: Record = json.loads((self.folder / "plan.json").read_text(encoding="utf-8"))
        return found

    def rows(self, name: str) -> list[dict[str, str]]:
        """A table of comma-separated values."""
        with (self.folder / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def sheet(self, name: str) -> list[tuple[Any, ...]]:
        """The values of one sheet of the workbook, as they are kept in the file."""
        return [tuple(row) for row in self.book[name].iter_rows(values_only=True)]

    @cached_property
    def book(self) -> openpyxl.Workbook:
        """The workbook, its formulas as the values that are kept in the file."""
        return openpyxl.load_workbook(self.folder / "cost_sheet.xlsx", data_only=True)

    @cached_property
    def events(self) -> list[icalendar.Event]:
        """Events of the calendar that hold."""
        made = icalendar.Calendar.from_ical((self.folder / "schedule.ics").read_bytes())
        return [event for event in made.walk("VEVENT") if event["STATUS"] != "CANCELLED"]

    @cached_property
    def page(self) -> Any:
        """``report.html``, parsed."""
        return lxml.html.parse(str(self.folder / "report.html")).getroot()

    @cached_property
    def answers(self) -> dict[str, str]:
        """The answers of the first sheet by their labels."""
        return {
            _text(row.find("h2")): _text(row.find("div"))
            for row in self.page.xpath("//div[contains(concat(' ', @class, ' '), ' answer ')]")
        }

    @cached_property
    def told(self) -> dict[str, str]:
        """The answers on the terminal by their labels."""
        found: dict[str, str] = {}
        label = ""
        for line in self.terminal.splitlines()[1:]:
            label = line[:12].strip() or label
            found[label] = f"{found.get(label, '')} {line[12:].strip()}".strip()
        return found

    @cached_property
    def bed_pages(self) -> dict[str, str]:
        """The text of all parts of the report about each bed, by the bed's name."""
        found: dict[str, str] = {}
        for head in self.page.xpath("//section//h2"):
            name = " ".join((head.text or "").split())
            if re.fullmatch(r"bed \d+", name):
                found[name] = f"{found.get(name, '')} {_text(head.getparent())}"
        return found

    @cached_property
    def bed_files(self) -> dict[str, tuple[str, list[str]]]:
        """Title and piece names of every 3MF package, by its file name."""
        found = {}
        for path in sorted((self.folder / "beds").glob("*.3mf")):
            with zipfile.ZipFile(path) as package:
                model = Xml.fromstring(package.read("3D/3dmodel.model"))
            title = model.findtext(f"{CORE}metadata") or ""
            items = [item.get("partnumber", "") for item in model.iter(f"{CORE}item")]
            found[path.name] = (title, items)
        return found

    def table(self, *heads: str) -> list[list[str]]:
        """Rows of all tables of the report that have these heads, those cells of them."""
        found = []
        for table in self.page.xpath("//table"):
            names = [_text(head) for head in table.xpath(".//thead//th")]
            if set(heads) <= set(names):
                for row in table.xpath(".//tbody/tr"):
                    cells = [_text(cell) for cell in row.xpath("./td|./th")]
                    found.append([cells[names.index(head)] for head in heads if len(cells) == len(names)])
        return [row for row in found if row]


def _text(node: Any) -> str:
    return "" if node is None else " ".join(node.text_content().split())


def moment(text: str) -> datetime:
    """A time of ``plan.json``."""
    return datetime.fromisoformat(text)


def bed_number(name: str) -> int:
    """7 of ``bed 7``."""
    return int(name.rsplit(" ", 1)[1])
