"""One function for each thing that a user can do; every face calls only this."""

from planner.actions.looking import check_folder, check_text, draft_files
from planner.actions.planning import plan_folder, plan_text, prepare, reckon, verify_plan
from planner.actions.reading import hints_of, meshes_of, read_job, start_time
from planner.actions.records import Records, read_records
from planner.actions.request import (
    CACHE_LIMIT_BYTES,
    EFFORTS,
    PlanRequest,
    default_cache,
    default_workers,
)

__all__ = [
    "CACHE_LIMIT_BYTES",
    "EFFORTS",
    "PlanRequest",
    "Records",
    "check_folder",
    "check_text",
    "default_cache",
    "default_workers",
    "draft_files",
    "hints_of",
    "meshes_of",
    "plan_folder",
    "plan_text",
    "prepare",
    "read_job",
    "read_records",
    "reckon",
    "start_time",
    "verify_plan",
]
