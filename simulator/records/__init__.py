"""The records: one store for attempts, logs and marks, and its exports."""

from simulator.records.export import export_csv
from simulator.records.forgetting import forget
from simulator.records.keeping import Kept, backup, restore
from simulator.records.observed import ObservedJob, jobs, keep_job, mark_job
from simulator.records.places import data_folder
from simulator.records.rows import AttemptRow, EventRow, Marks
from simulator.records.store import Store
from simulator.records.work_file import Work, left_out, read_work, write_work
from simulator.records.work_merge import Merged, amount, latest_work, merge_work, nameless, take_over

__all__ = [
    "AttemptRow",
    "EventRow",
    "Kept",
    "Marks",
    "Merged",
    "ObservedJob",
    "Store",
    "Work",
    "amount",
    "backup",
    "data_folder",
    "export_csv",
    "forget",
    "jobs",
    "keep_job",
    "latest_work",
    "left_out",
    "mark_job",
    "merge_work",
    "nameless",
    "read_work",
    "restore",
    "take_over",
    "write_work",
]
