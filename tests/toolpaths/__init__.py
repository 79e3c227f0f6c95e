"""A plain, slow maker of toolpaths: every layer cut, every bead drawn, every second counted.

It shares no code with the planner and does nothing fast: sections by `trimesh`, regions by `shapely`,
beads as polylines with a cross-section of their own. Its volume is the sum over beads of length times
cross-section, its seconds those of every move. What it knows of the trade is in its docstrings.
"""
