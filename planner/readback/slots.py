"""Where each value stands in the arrays that compiled code carries from one piece of a file to the next."""

from __future__ import annotations

# whole numbers: the byte machine
MODE, LETTER, SIGN, DIGITS, DECIMALS, POINT, CLOSED, WIDTH = range(8)
LINE, PRESENT, G_COUNT, M_COUNT, PERCENTS, ENDED, SOFT = range(8, 15)
# whole numbers: modal groups, and what went wrong
MOTION, RELATIVE, FED_RELATIVE, UNITS, PLANE, TOOL, KNOWN, ROWS = range(15, 23)
FAULT, FAULT_LINE, FAULT_LETTER, UNREAD, CHANGES, LINE_FROM = range(23, 29)
WHOLE = 29

# numbers: the word under way, and where the machine is (mm, as the bed has it)
MANTISSA, FAULT_VALUE, AT_X, AT_Y, AT_Z, AT_E = range(6)
OFF_X, OFF_Y, OFF_Z, FEED, SCALE, HOT_NOZZLE, HOT_BED = range(6, 13)
END_X, END_Y, END_Z, END_E = range(13, 17)  # where the words of this line lead
REAL = 17

MOST_CODES = 10  # G words of one line, and M words
LETTERS = 26
UNITS_NONE, UNITS_MM, UNITS_INCH = 0, 1, 2
NO_MOTION = -1

# a row of moves
KIND, X0, Y0, Z0, X1, Y1, Z1, FED, SPEED, CX, CY, SWEEP, ROW_TOOL, ROW_LINE = range(14)
COLUMNS = 14
STRAIGHT, ARC, IN_PLACE, WAIT, PULL = 0.0, 1.0, 2.0, 3.0, 4.0
