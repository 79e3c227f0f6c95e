"""The JSON Schema of ``plan.json``."""

from __future__ import annotations

import json
from importlib import resources

SCHEMA = json.loads(resources.files("planner.report").joinpath("plan.schema.json").read_text("utf-8"))
