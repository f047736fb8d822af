"""Signatures of a trainer: who stands behind a mark sheet or a pack of calls, and whether it was altered since."""

from simulator.signing.envelope import Envelope, Verdict, check, seal
from simulator.signing.keys import PublicKey, TrainerKey, key_folder
from simulator.signing.ring import Ring

__all__ = ["Envelope", "PublicKey", "Ring", "TrainerKey", "Verdict", "check", "key_folder", "seal"]
