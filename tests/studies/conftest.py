"""The hypotheses that beliefs are tried with."""

from tests.diagnosis.conftest import cases as cases
