"""Spools that are added, weighed and retired, and what is away, as facts."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from textwrap import fill
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace, moment, not_later
from planner.api.recording import Answer, told_already, with_uid
from planner.errors import InputError, RecordError

if TYPE_CHECKING:
    from planner.ledger.accounts import Account
    from planner.ledger.store import Ledger
    from planner.model.filament import Spool
    from planner.model.workshop import Workshop

SCALE_G = 1.0  # of a kitchen scale that takes a spool; common practice, no source


@dataclass(frozen=True, slots=True)
class SpoolTold:
    """What is told of a spool; ``tare_g`` is the empty reel, where the grams are those of both."""

    name: str
    filament: str = ""
    grams: str = ""
    tare_g: float = 0.0
    price: str = ""
    lot: str = ""
    at_hand_from: str = ""
    colour: str = ""
    at: str | None = None
    who: str = "terminal"
    uid: str = ""


def spool_added(place: LedgerPlace, told: SpoolTold, now: datetime) -> Answer:
    """A spool on the shelf, from now on with an account.

    Raises
    ------
    RecordError
        for a name that is on the shelf, a filament that is not known, grams, price or day that are none
    """
    from planner.ledger.fact import SPOOL_ADDED
    from planner.ledger.names import nearest
    from planner.ledger.store import Ledger

    shop = place.shop()
    filament = nearest(told.filament, [one.name for one in shop.filaments], "filament", "planner spool add")
    net = _net(told, "planner spool add")
    data = {
        "filament": filament,
        "grams": net,
        "tare_g": told.tare_g,
        "price": _price(told.price, shop.currency),
        "lot": told.lot,
        "colour": _colour(told.colour),
        "at_hand_from": _day(told.at_hand_from, shop, now),
    }
    with Ledger(place.file, writing=True) as ledger:
        known = _accounts(ledger, now).get(told.name)
        if known is not None and not known.retired and known.entries[0].what == "added":
            if (known.filament, known.entries[0].grams) == (filament, net):
                return Answer((f"{told.name}: recorded already", f"ledger: {place.file}"))
            raise RecordError(
                f"a spool {told.name!r} is on the shelf already.",
                where="planner spool add",
                next_step=f'Give it another name, or weigh it: planner spool weigh "{told.name}" {net:g}.',
            )
        fact = _written(ledger, SPOOL_ADDED, told, data, _at(told, shop, now, place))
    return Answer((f"{told.name} is on the shelf: {net:g} g of {filament}", f"ledger: {place.file}"), fact)


def spool_weighed(place: LedgerPlace, told: SpoolTold, now: datetime) -> Answer:
    """A spool on the scale: its grams count from now on, whatever its account said."""
    from planner.ledger.fact import SPOOL_WEIGHED
    from planner.ledger.names import nearest
    from planner.ledger.store import Ledger

    if (known := told_already(place, told.uid)) is not None:
        return known
    shop = place.shop()
    net = _net(told, "planner spool weigh")
    at = _at(told, shop, now, place)
    with Ledger(place.file, writing=True) as ledger:
        before = _accounts(ledger, at)
        filaments = {spool.name: spool.filament for spool in shop.spools}
        filaments |= {name: account.filament for name, account in before.items()}
        name = nearest(told.name, list(filaments), "spool", "planner spool weigh")
        data = {"filament": filaments[name], "grams": net, "tare_g": told.tare_g, "resolution_g": SCALE_G}
        fact = _written(ledger, SPOOL_WEIGHED, replace(told, name=name), data, at)
        account = _accounts(ledger, max(at, now))[name]
    was = f", {before[name].grams:.1f} g by its account" if name in before else ""
    line = f"{name} holds {net:g} g of {filaments[name]}{was}: the scale counts"
    doubts = [text for text in account.doubts if name in before and text not in before[name].doubts]
    return Answer((line, *(f"{name}: {text}" for text in doubts), f"ledger: {place.file}"), fact)


def spool_retired(place: LedgerPlace, told: SpoolTold, now: datetime) -> Answer:
    """A spool that is used up or thrown away."""
    from planner.ledger.fact import SPOOL_RETIRED
    from planner.ledger.names import nearest
    from planner.ledger.store import Ledger

    shop = place.shop()
    with Ledger(place.file, writing=True) as ledger:
        there = [name for name, account in _accounts(ledger, now).items() if not account.retired]
        known = list(dict.fromkeys((*there, *(spool.name for spool in shop.spools))))
        name = nearest(told.name, known, "spool", "planner spool retire")
        _refuse_unaccounted(name, there)
        at = _at(told, shop, now, place)
        fact = _written(ledger, SPOOL_RETIRED, SpoolTold(name, at=told.at, who=told.who), {}, at)
    return Answer((f"{name} is off the shelf", f"ledger: {place.file}"), fact)


def _refuse_unaccounted(name: str, there: Sequence[str]) -> None:
    if name not in there:
        raise RecordError(
            f"{name} has no account in the ledger.",
            where="planner spool retire",
            next_step="Take its [[spool]] table out of workshop.toml.",
        )


def shelf_told(place: LedgerPlace, now: datetime, *, as_json: bool) -> str:
    """Every spool with an account, then those that only the workshop file tells."""
    from planner.ledger.store import Ledger

    shop = place.shop()
    accounts: dict[str, Account] = {}
    if place.file.is_file():
        with Ledger(place.file) as ledger:
            accounts = _accounts(ledger, now)
    others = [spool for spool in shop.spools if spool.name not in accounts]
    if as_json:
        rows = [_row(one) for one in accounts.values()]
        rows += [
            {
                "spool": s.name,
                "filament": s.filament,
                **_in_colour(s),
                "grams": s.grams_left,
                "account": None,
            }
            for s in others
        ]
        return json.dumps({"spools": rows}, ensure_ascii=False, indent=1) + "\n"
    lines = []
    for one in accounts.values():
        gone = "  retired" if one.retired else ""
        lines.append(f"{one.spool:<24} {_held(one):<20} {one.grams:8.1f} g{gone}")
        lines += [fill(text, 80, initial_indent="  ", subsequent_indent="  ") for text in one.doubts]
    lines += [f"{s.name:<24} {_held(s):<20} {s.grams_left:8.1f} g  as workshop.toml tells" for s in others]
    return "\n".join(lines) + "\n" if lines else "the shelf is empty\n"


def _held(one: Account | Spool) -> str:
    return f"{one.filament}, {one.colour}" if one.colour else one.filament


def _in_colour(one: Account | Spool) -> dict[str, str]:
    return {"colour": one.colour} if one.colour else {}


def _row(one: Account) -> dict[str, Any]:
    lines = [(e.at.isoformat(), e.what, round(e.grams, 2), round(e.after_g, 2)) for e in one.entries]
    return {
        "spool": one.spool,
        "filament": one.filament,
        "grams": round(one.grams, 2),
        "price": one.price or None,
        "lot": one.lot or None,
        **_in_colour(one),
        "at_hand_from": one.at_hand_from or None,
        "retired": one.retired,
        "account": [dict(zip(("at", "what", "grams", "after_g"), line, strict=True)) for line in lines],
        "doubts": one.doubts,
    }


def away(
    place: LedgerPlace,
    name: str,
    since: str | None,
    until: str | None,
    why: str,
    now: datetime,
    who: str = "terminal",
) -> Answer:
    """A printer, a filament or a spool that is not to be had from one moment to another.

    Without ``until`` it is away until a later fact tells when it is back; without ``since`` from now, or from
    when it was told to be away.

    Raises
    ------
    RecordError
        for a name that is not known, or an end that is not after the beginning
    """
    from planner.ledger.fact import AWAY, Fact, uid_of
    from planner.ledger.names import nearest
    from planner.ledger.standing import absences_of
    from planner.ledger.store import Ledger

    shop = place.shop()
    kinds = {printer.name: "printer" for printer in shop.printers}
    kinds = {filament.name: "filament" for filament in shop.filaments} | kinds
    with Ledger(place.file, writing=True) as ledger:
        spools = [name for name, account in _accounts(ledger, now).items() if not account.retired]
        kinds = dict.fromkeys([*spools, *(spool.name for spool in shop.spools)], "spool") | kinds
        found = nearest(name, list(kinds), "printer, filament or spool", "planner away")
        what = kinds[found]
        begin = _whole_day(since, shop, now, "--from") if since else now.replace(second=0, microsecond=0)
        end = _whole_day(until, shop, now, "--until") if until else None
        still = [a for a in absences_of(ledger.facts()) if (a.what, a.name, a.until) == (what, found, None)]
        if still and not since and end is not None:
            begin = min(begin, *(one.since for one in still))
        if end is not None and end <= begin:
            raise RecordError(
                f"away from {begin:%Y-%m-%d %H:%M} until {end:%Y-%m-%d %H:%M} ends before it begins.",
                where="planner away",
            )
        told = end.isoformat() if end is not None else ""
        data = {"what": what, "since": begin.isoformat(), "until": told, "why": why}
        times = ledger.times_taken_back(AWAY, found, "")
        uid = uid_of(AWAY, found, begin.isoformat() if since else "", told, times)
        fact = ledger.write([Fact(AWAY, found, now, uid, who=who, data=data)])
    back = f"until {end:%Y-%m-%d %H:%M}" if end is not None else "until told"
    line = f"{what} {found} is away from {begin:%Y-%m-%d %H:%M} {back}"
    return Answer((line if fact else f"{found}: recorded already", f"ledger: {place.file}"), fact)


def _whole_day(text: str, shop: Workshop, now: datetime, where: str) -> datetime:
    return moment(
        text if len(text.strip()) != len("2026-12-01") else f"{text.strip()}T00:00",
        shop.attendance,
        now,
        where,
    )


def _accounts(ledger: Ledger, now: datetime) -> dict[str, Account]:
    from planner.ledger.accounts import KINDS, accounts_of

    return accounts_of(ledger.facts(kinds=KINDS), now)


def _written(ledger: Ledger, kind: str, told: SpoolTold, data: dict[str, Any], at: datetime) -> Any:
    from planner.ledger.fact import Fact, uid_of

    times = ledger.times_taken_back(kind, told.name, "")
    day = at.isoformat() if told.at else f"{at:%Y-%m-%d}"
    uid = uid_of(kind, told.name, data.get("grams"), day, times)
    kept = {key: value for key, value in data.items() if value not in ("", None)}
    kept |= {"told_at": True} if told.at else {}
    fact = with_uid(Fact(kind, told.name, at, uid, who=told.who, data=kept), told.uid)
    return () if ledger.says(fact) else ledger.write([fact])


def _at(told: SpoolTold, shop: Workshop, now: datetime, place: LedgerPlace) -> datetime:
    return not_later(moment(told.at, shop.attendance, now), now, place.begins) if told.at else now


def _net(told: SpoolTold, where: str) -> float:
    """Grams of filament alone; a spool may be weighed empty."""
    from planner.ledger.weigh_list import grams_of
    from planner.model.checks import number

    number(told.tare_g, "--tare", low=0.0, high=10_000.0)
    net = round(grams_of(told.grams, where) - told.tare_g, 2)
    if net < 0.0:
        raise RecordError(
            f"{told.grams} g with a reel of {told.tare_g:g} g leave less than nothing.",
            where=where,
            next_step="Give the grams of spool and reel together, and those of the empty reel as --tare.",
        )
    return net


def _price(text: str, currency: str) -> str:
    from decimal import Decimal, InvalidOperation

    from planner.units import minor_digits, money_text, to_minor

    if not text:
        return ""
    amount, _, code = text.strip().partition(" ")
    try:
        exact = Decimal(amount.replace(",", "."))
        minor = to_minor(exact, currency)
    except (InvalidOperation, InputError):
        exact, minor = Decimal(0), -1
    if minor >= 0 and exact != Decimal(minor).scaleb(-minor_digits(currency)):
        raise RecordError(
            f"{text!r} is no amount that can be paid: {currency} has {minor_digits(currency)} digits after"
            " the point.",
            where="--price",
            next_step=f'Write it like "{money_text(minor, currency)} {currency}".',
        )
    if minor < 0 or code.strip().upper() not in ("", currency):
        raise RecordError(
            f"{text!r} is no price in {currency}.",
            where="--price",
            next_step=f'Write it like "24.90 {currency}".',
        )
    return f"{amount.replace(',', '.')} {currency}"


def _colour(text: str) -> str:
    """As the workshop file has it: small letters, single blanks."""
    from planner.model.colour import MOST_COLOUR, colour_word

    if not text:
        return ""
    word = colour_word(text)
    if word is None:
        raise RecordError(
            f"the colour {text!r} is no word of at most {MOST_COLOUR} letters.",
            where="--colour",
            next_step='Write it like "red" or "signal orange".',
        )
    return word


def _day(text: str, shop: Workshop, now: datetime) -> str:
    if not text:
        return ""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return moment(text, shop.attendance, now, "--from").replace(tzinfo=None).isoformat()
