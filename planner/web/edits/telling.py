"""A fact that is tapped on the page: checked, and told as ``planner record`` or ``planner spool`` do."""

from __future__ import annotations

import re
import threading
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import RESOLUTION_G, VERBS, Answer, Told, record
from planner.api.shelving import SpoolTold, spool_weighed
from planner.errors import RecordError

WHO = "page"
LONGEST_AGE_S = 60 * 86400.0
MOST_WORDS, LONGEST_WORD = 200, 300
LOCK = threading.Lock()
_UID = re.compile(r"[A-Za-z0-9_-]{8,64}")


def tell(place: LedgerPlace, given: Mapping[str, Any], now: datetime) -> Answer:
    """Write what was tapped ``age_s`` seconds ago; telling it again under the same ``uid`` is harmless.

    Raises
    ------
    RecordError
        for what cannot be understood, and all that ``planner record`` refuses
    """
    uid = given.get("uid")
    if not isinstance(uid, str) or not _UID.fullmatch(uid):
        raise RecordError("a fact from the page needs an id of its own.", where="uid")
    when = now - timedelta(seconds=_age_s(given.get("age_s", 0.0)))
    with LOCK:
        if "spool" in given:
            return spool_weighed(place, _spool(given, uid), when)
        return record(place, _told(given, uid), when)


def _told(given: Mapping[str, Any], uid: str) -> Told:
    words = _words(given, "words")
    if not words or not any(word in VERBS and word != "list" for word in words):
        raise RecordError(f"{' '.join(words)!r} tells nothing that happened.", where="words")
    return Told(
        words,
        _text(given, "at") or None,
        _words(given, "good"),
        _whole(given, "layer"),
        _number(given, "height_mm", high=5000.0),
        _number(given, "resolution_g", high=1000.0) or RESOLUTION_G,
        given.get("supports_on") is True,
        who=WHO,
        uid=uid,
        takes_back=_text(given, "takes_back"),
        series=_text(given, "series"),
    )


def _spool(given: Mapping[str, Any], uid: str) -> SpoolTold:
    return SpoolTold(
        _text(given, "spool"),
        grams=_text(given, "grams"),
        tare_g=_number(given, "tare_g", high=10_000.0) or 0.0,
        at=_text(given, "at") or None,
        who=WHO,
        uid=uid,
    )


def _age_s(value: object) -> float:
    """How long it waited; clocks of browsers may be set meanwhile."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RecordError(f"{value!r} must be seconds.", where="age_s")
    return min(LONGEST_AGE_S, max(0.0, float(value)))


def _text(given: Mapping[str, Any], key: str) -> str:
    value = given.get(key, "")
    value = "" if value is None else value
    if not isinstance(value, str) or len(value) > LONGEST_WORD:
        raise RecordError(f"{str(value)[:40]!r} must be a text of at most {LONGEST_WORD} letters.", where=key)
    return value.strip()


def _words(given: Mapping[str, Any], key: str) -> tuple[str, ...]:
    value = given.get(key) or []
    if not isinstance(value, list) or len(value) > MOST_WORDS:
        raise RecordError(f"it must be a list of at most {MOST_WORDS} words.", where=key)
    for word in value:
        if not isinstance(word, str) or len(word) > MOST_WORDS * LONGEST_WORD:
            raise RecordError(f"{str(word)[:40]!r} must be a text.", where=key)
    return tuple(value)


def _number(given: Mapping[str, Any], key: str, *, high: float) -> float | None:
    value = given.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 <= value <= high:
        raise RecordError(f"{str(value)[:40]!r} must be a number from 0 to {high:g}.", where=key)
    return float(value)


def _whole(given: Mapping[str, Any], key: str) -> int | None:
    value = _number(given, key, high=1_000_000.0)
    if value is not None and (value < 1.0 or value != int(value)):
        raise RecordError(f"{value:g} must be a whole number from 1.", where=key)
    return None if value is None else int(value)
