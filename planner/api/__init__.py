"""One function for each thing that a user can do; every face calls only this."""

from planner.api.at_hand import AtHand
from planner.api.clock import computer_zone, now_here, zone_name
from planner.api.kit import (
    MeshBox,
    ends_fit,
    fitting_rows,
    kit_found,
    kit_record,
    mesh_ends,
    seats_as_written,
    usual_sections,
)
from planner.api.living import lived_through, risk_text
from planner.api.looking import Drafted, check_folder, check_text, draft_files, unpacked
from planner.api.offers import axes_offered, turns_offered
from planner.api.own_places import default_cache, place_for_compiled_code
from planner.api.planning import plan_folder, plan_text, reckon, verify_plan
from planner.api.preparing import prepare
from planner.api.reading import hints_of, mesh_folder, read_job, start_time
from planner.api.records import Records, read_records
from planner.api.request import (
    CACHE_LIMIT_BYTES,
    EFFORTS,
    PlanRequest,
    default_workers,
)
from planner.api.since import SinceRequest, beds_and_times, tolerance_of
from planner.api.tables import TABLES, table_text
from planner.api.tradeoffs import TradeoffRequest, tradeoff_folder, tradeoff_told

__all__ = [
    "CACHE_LIMIT_BYTES",
    "EFFORTS",
    "TABLES",
    "AtHand",
    "Drafted",
    "MeshBox",
    "PlanRequest",
    "Records",
    "SinceRequest",
    "TradeoffRequest",
    "axes_offered",
    "beds_and_times",
    "check_folder",
    "check_text",
    "computer_zone",
    "default_cache",
    "default_workers",
    "draft_files",
    "ends_fit",
    "fitting_rows",
    "hints_of",
    "kit_found",
    "kit_record",
    "lived_through",
    "mesh_ends",
    "mesh_folder",
    "now_here",
    "place_for_compiled_code",
    "plan_folder",
    "plan_text",
    "prepare",
    "read_job",
    "read_records",
    "reckon",
    "risk_text",
    "seats_as_written",
    "start_time",
    "table_text",
    "tolerance_of",
    "tradeoff_folder",
    "tradeoff_told",
    "turns_offered",
    "unpacked",
    "usual_sections",
    "verify_plan",
    "zone_name",
]
