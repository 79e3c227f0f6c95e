"""Triangle meshes, sections, polygons and poses: lengths in mm, no words of the trade."""
