"""What a piece was made from and how, so that a later plan knows what is printed already."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.budget import Place


@dataclass(frozen=True, slots=True)
class Make:
    """Mesh, pose, recipe and filament of a part: two pieces of the same make are alike.

    ``mesh_sha256`` is that of the facets in mm, ``rotation`` the nine numbers of the pose to nine digits,
    ``recipe_sha256`` that of all the recipe says but its name and its speeds.
    """

    mesh_sha256: str
    rotation: tuple[float, ...]
    recipe: str
    recipe_sha256: str
    filament: str

    def differs(self, other: Make) -> tuple[str, ...]:
        """What is not the same, in words: mesh, pose, recipe, filament."""
        pairs = (
            ("mesh", self.mesh_sha256, other.mesh_sha256),
            ("pose", self.rotation, other.rotation),
            ("recipe", self.recipe_sha256, other.recipe_sha256),
            ("filament", self.filament, other.filament),
        )
        return tuple(word for word, mine, its in pairs if mine != its)


@dataclass(frozen=True, slots=True)
class PrintedPiece:
    """A piece that is printed, or being printed: on which bed, how it was made, what it weighs.

    ``mass_g`` is all that was laid down for it, ``flying_g`` what is left without support. ``place`` is its
    centroid as it was planned when it was printed. ``make`` is ``None`` where an old plan does not tell it.
    """

    piece: str
    batch: str
    make: Make | None
    mass_g: float
    flying_g: float
    filament: str
    recipe: str
    place: Place | None = None
