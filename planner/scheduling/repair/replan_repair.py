"""Few moved batches by plain local repair: what can stay stays, what cannot is pushed or put elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from planner.scheduling.problem.handling_windows import Desk
from planner.scheduling.problem.placing import Lines, Placing, Was, place

Score = tuple[int, int, int, int]


class Repair:
    """Local search over lists; effort is counted in times that all lists are placed."""

    def __init__(self, desk: Desk, was: Was, cap: int, effort: int) -> None:
        self.desk, self.was, self.cap, self.left = desk, was, cap, effort

    def score(self, placing: Placing) -> Score:
        """Ticks beyond the cap, moved batches, finish, sum of the moved batches' starts: less is better."""
        late = sum(s for s, kept in zip(placing.start, placing.kept, strict=True) if not kept)
        return max(0, placing.finish - self.cap), placing.moved, placing.finish, late

    def run(self) -> Placing | None:
        """Batches with a place in their old order, the others where they disturb least; then improved."""
        tables = self.desk.tables
        old: list[list[int]] = [[] for _ in tables.release]
        for batch, place_ in enumerate(self.was):
            if place_ is not None:
                old[place_[0]].append(batch)
        lines: Lines = tuple(tuple(sorted(line, key=lambda b: (self._old_start(b), b))) for line in old)
        homeless = [b for b, place_ in enumerate(self.was) if place_ is None]
        best = place(self.desk, lines, self.was)
        for batch in sorted(homeless, key=lambda b: (-int(tables.duration[b].max()), b)):
            best = self._inserted(lines, batch)
            if best is None:
                return None
            lines = best.lines
        return None if best is None else self._improved(best)

    def _old_start(self, batch: int) -> int:
        place_ = self.was[batch]
        return 0 if place_ is None else place_[1]

    def _tried(self, lines: Lines) -> Placing | None:
        self.left -= 1
        return place(self.desk, lines, self.was)

    def _inserted(self, lines: Lines, batch: int) -> Placing | None:
        """The batch at the place where the score is least."""
        best: Placing | None = None
        for printer, at in self._places(lines, batch):
            if best is not None and self.left <= 0:
                return best
            line = lines[printer]
            grown = (*line[:at], batch, *line[at:])
            found = self._tried((*lines[:printer], grown, *lines[printer + 1 :]))
            if found is not None and (best is None or self.score(found) < self.score(best)):
                best = found
        return best

    def _places(self, lines: Lines, batch: int) -> Iterator[tuple[int, int]]:
        """The ends of all lists first, the soonest of them before the others; then ever further in."""
        here = [p for p in range(len(lines)) if self.desk.tables.duration[batch, p] >= 0]
        here.sort(key=lambda p: (self._old_start(lines[p][-1]) if lines[p] else -1, p))
        for back in range(max((len(lines[p]) for p in here), default=0) + 1):
            for printer in here:
                if back <= len(lines[printer]):
                    yield printer, len(lines[printer]) - back

    def _improved(self, best: Placing) -> Placing:
        """One batch after another to its best place, those that had to move first."""
        while self.left > 0:
            better = False
            for batch in self._worth_moving(best):
                lines = tuple(tuple(b for b in line if b != batch) for line in best.lines)
                found = self._inserted(lines, batch)
                if found is not None and self.score(found) < self.score(best):
                    best, better = found, True
                if self.left <= 0:
                    return best
            if not better:
                return best
        return best

    def _worth_moving(self, placing: Placing) -> list[int]:
        """Moved batches, latest first; then those of the printer that ends last."""
        moved = sorted(
            (b for b, kept in enumerate(placing.kept) if not kept), key=lambda b: -placing.start[b]
        )
        last = max(placing.lines, key=lambda line: placing.start[line[-1]] if line else -1, default=())
        return [*moved, *(b for b in reversed(last) if b not in moved)]
