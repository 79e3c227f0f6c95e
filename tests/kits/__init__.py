"""Random kits and workshops by seed, to live through builds of; all of it is invented."""

from tests.kits.kit import Kit, Row, random_kit
from tests.kits.shop import Shop, random_shop

__all__ = ["Kit", "Row", "Shop", "random_kit", "random_shop"]
