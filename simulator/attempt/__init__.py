"""A trainee at a call-out, without a screen."""

from simulator.attempt.attempt import Attempt
from simulator.attempt.events import Reply
from simulator.attempt.memory_store import MemoryStore
from simulator.attempt.offers import ActionView
from simulator.attempt.samples import Samples
from simulator.attempt.state import AttemptState, Coach
from simulator.attempt.store_protocol import AttemptStore
from simulator.attempt.views import Snapshot

__all__ = [
    "ActionView",
    "Attempt",
    "AttemptState",
    "AttemptStore",
    "Coach",
    "MemoryStore",
    "Reply",
    "Samples",
    "Snapshot",
]
