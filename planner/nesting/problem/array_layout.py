"""Which row or column of the packed arrays holds what.

The compiled search passes few arrays with many rows: every array that crosses a call costs time.
"""

# Forms.shape (form, row, corner), Scratch.shape (row, corner)
VX, VY = 0, 1  # grown outline and openings
PX, PY, PR = 2, 3, 4  # circles that fill it
HX, HY = 5, 6  # hull of the true outline
TX, TY = 7, 8  # true outline, simplified outwards
TURN = 9  # allowed turns, radians
MEASURE = 10  # columns DIAMETER and SIZE
DIAMETER, SIZE = 0, 1
FORM_ROWS = 11

# Forms.count (form, row, corner): row NEXT is the next corner of a ring, row MANY holds counts
NEXT, MANY = 0, 1
NV, NP, NH, NT, HOLE_FIRST, HOLE_LAST, NTURNS = range(7)

# Grounds.bed (kind, column)
BX0, BY0, BX1, BY1, CX, CY, CR = range(7)
# Grounds.wall (obstacle, row, corner); row WALL_MEASURE has columns DIAMETER, SIZE, corners, circles
WX, WY, WPX, WPY, WPR, WALL_MEASURE = range(6)
WALL_ROWS = 6

# State.who (piece, column): form, bed, then one column a bed: 1 where the piece may lie
FORM, BED, ALLOWED = 0, 1, 2
# State.at (piece, column)
X, Y, ANGLE, X0, Y0, X1, Y1, BED_LOSS, BED_WEIGHT = range(9)
AT_COLUMNS = 9
# State.lie (piece, row, corner): rows VX, VY, PX, PY in bed coordinates
LIE_ROWS = 4

# Scratch.frame: box of the grown outline, box of the hull, form and turn posed
EX0, EY0, EX1, EY1, HX0, HY0, HX1, HY1, POSED_FORM, POSED_TURN = range(10)
FRAME = 10
