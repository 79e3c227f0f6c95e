"""What a machine file can have wrong with it: a number for compiled code, a sentence for people."""

from __future__ import annotations

NUL, ODD_BYTE, NO_NUMBER, NO_LETTER, TWICE, LONG_LINE, LONG_NUMBER, PARAMETER, SUBROUTINE = range(1, 10)
UNKNOWN_G, TWO_OF_GROUP, NO_UNIT, NO_FEED, PLANE, OPEN_ARC, NO_CENTRE, NO_ARC, SHORT_RADIUS = range(10, 19)
NO_PLACE, TOO_FAR, FILAMENT, AXIS, OPEN_REMARK, MANY_CODES, MOVE_AFTER_M, VOLUMES, TRIMMED = range(19, 28)
NO_DWELL, NO_MOTION, NO_HEAT, TWO_USERS, PLANE_WORD = range(28, 33)

SENTENCES = {
    NUL: ("a byte of nothing (NUL) stands here: this is no text.", "Give the machine file itself."),
    ODD_BYTE: ("a byte stands here that no word begins with.", "Give a text of words like G1 X10.5."),
    NO_NUMBER: (
        "{word} has no number behind it, so it is no word of a letter and a number.",
        "Other languages and macros are not read: write the words that they stand for.",
    ),
    NO_LETTER: ("a number stands here without its letter.", "Write words like X10.5."),
    TWICE: ("{word} stands twice on one line.", "Write each letter once a line."),
    LONG_LINE: ("the line is longer than {limit} bytes.", "Give the machine file itself."),
    LONG_NUMBER: ("{word} has more digits than any length has.", "Write numbers like 10.525."),
    PARAMETER: (
        "a parameter or an expression stands here; those are not reckoned.",
        "Write numbers instead.",
    ),
    SUBROUTINE: ("{word}{value} calls or makes a subroutine; none is read.", "Write out its moves."),
    UNKNOWN_G: ("G{value} is no G word that is read.", "Write its moves with G0, G1, G2 and G3."),
    TWO_OF_GROUP: ("two G words of one modal group stand on one line.", "Keep the one that is meant."),
    NO_UNIT: (
        "the file moves before it tells its unit (G20 inch or G21 mm).",
        "Say which it is: --units mm.",
    ),
    NO_FEED: ("it moves at a feed that was never told.", "Tell it with an F word above 0."),
    PLANE: ("an arc outside the plane of the bed (G18 or G19) is not read.", "Turn arcs in G17."),
    OPEN_ARC: (
        "the arc does not close: its end lies {value} mm further from its centre, or nearer, than its start.",
        "Mend I and J, or the end.",
    ),
    NO_CENTRE: ("the arc has neither I and J nor R.", "Tell its centre or its radius."),
    NO_ARC: ("an arc by R that ends where it began is no arc.", "Tell its centre with I and J."),
    SHORT_RADIUS: ("R{value} is too short to reach the end of the arc.", "Mend R, or the end."),
    NO_PLACE: (
        "it lays filament before X, Y and Z were all told.",
        "Begin with a move to a place that is told in full.",
    ),
    TOO_FAR: ("{word} leads to {value} mm, further than any machine reaches.", "Mend the word."),
    FILAMENT: ("T{value} names no filament: 0 to 15 are read.", "Mend the word."),
    AXIS: ("{word} is no axis or word that a move here has.", "Moves have X, Y, Z, E, F, I, J and R."),
    OPEN_REMARK: ("a remark in parentheses does not end on its line.", "Close it."),
    MANY_CODES: ("the line has more G or M words than {limit}.", "Write them on lines of their own."),
    MOVE_AFTER_M: (
        "a move stands behind an M word that is not read, so it may be part of it.",
        "Write the move on a line of its own.",
    ),
    VOLUMES: ("M200 D{value}: fed volumes instead of lengths are not read.", "Feed lengths."),
    TRIMMED: ("{word}{value} trims speeds or flow on the way; that is not reckoned.", "Write 100."),
    NO_DWELL: ("G4 tells no time of 0 or above with P or S.", "Write it like G4 S2."),
    NO_MOTION: ("axes are told before any of G0, G1, G2 and G3.", "Say first how it moves."),
    NO_HEAT: ("M{value} tells no temperature with S or R, between 0 and 1000.", "Write it like M104 S215."),
    TWO_USERS: ("two words of one line want its axes.", "Write them on lines of their own."),
    PLANE_WORD: ("K stands in an arc of the plane of the bed.", "Leave it out, or turn arcs in G17."),
}
"""What is wrong, and what to do next."""
