"""Many runs at once: order, failures, stopping, and the same figures wherever they are computed."""

from __future__ import annotations

import multiprocessing
import pickle
import threading
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, standard_site
from simulator.run import Setup, simulate
from simulator.run.batch import BatchFailed, BatchStopped, Case, CaseFailed, LightRun, run_batch

RIG, SITE = load_rig("osier"), standard_site()
BLANKED = Setup.BLANKED
DURATION = 40.0


def mixed_cases() -> list[Case]:
    """Sound, leaking, popping and blanked runs, one of them polytropic."""
    options = {"duration": DURATION}
    faults = (("sound", 0.0, ""), ("drain_open", 0.12, ""), ("nozzle_plugged", 0.75, ""))
    cases = [Case(*FAULTS[name].apply(RIG, SITE, size, place), options) for name, size, place in faults]
    cases.append(Case(RIG, SITE, {**options, "setup": BLANKED}))
    cases.append(Case(RIG, SITE, {**options, "gas_exponent": 1.2}))
    cases.extend(Case(RIG, replace(SITE, lift=lift), options) for lift in (1.0, 5.0))
    return cases


def broken_case() -> Case:
    return Case(RIG, SITE, {"duration": -1.0})


def assert_identical(got: list, expected: list) -> None:
    assert len(got) == len(expected)
    for one, two in zip(got, expected, strict=True):
        assert np.array_equal(one.series, two.series)
        assert np.array_equal(one.states, two.states)
        assert one.events == two.events
        assert one.outcome == two.outcome
        assert one.solver == two.solver


@pytest.fixture(scope="module")
def alone():
    return [simulate(case.rig, case.site, **case.options) for case in mixed_cases()]


def test_threads_give_the_same_figures_in_order(alone):
    assert_identical(run_batch(mixed_cases(), threads=2), alone)


def test_one_thread_gives_the_same(alone):
    assert_identical(run_batch(mixed_cases(), threads=1), alone)


@pytest.fixture
def shared_machine_code(monkeypatch):
    """Let other processes load the machine code this one has compiled."""
    numba = pytest.importorskip("numba")
    if numba.config.CACHE_DIR:
        monkeypatch.setenv("SIMULATOR_COMPILED_DIR", str(Path(numba.config.CACHE_DIR).parent))


@pytest.mark.full
@pytest.mark.usefixtures("shared_machine_code")
def test_a_pool_of_processes_gives_the_same_bit_for_bit(alone):
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context) as pool:
        assert_identical(run_batch(mixed_cases(), executor=pool), alone)
        failed = run_batch([mixed_cases()[0], broken_case()], executor=pool, return_exceptions=True)
        assert failed[1].index == 1
        assert failed[1].kind == "InputError"


@pytest.mark.full
@pytest.mark.usefixtures("shared_machine_code")
def test_a_dask_cluster_gives_the_same_bit_for_bit(alone, tmp_path):
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            local_directory=str(tmp_path),
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        assert_identical(run_batch(mixed_cases(), executor=client.get_executor()), alone)


def test_a_given_executor_stays_open():
    with ThreadPoolExecutor(1) as pool:
        run_batch(mixed_cases()[:1], executor=pool)
        assert pool.submit(lambda: 7).result() == 7


def test_no_cases():
    assert run_batch([]) == []


def test_a_failed_case_is_told_with_its_index_and_loses_no_other(alone):
    cases = mixed_cases()
    cases.insert(2, broken_case())
    with pytest.raises(
        BatchFailed, match=r"1 of 8 runs failed; the first is case 2: InputError: duration"
    ) as info:
        run_batch(cases)
    error = info.value
    assert [failure.index for failure in error.failures] == [2]
    assert "run_cases" in error.failures[0].trace
    kept = [result for result in error.results if not isinstance(result, CaseFailed)]
    assert_identical(kept, alone)


def test_failures_can_stand_in_the_list():
    results = run_batch([broken_case(), mixed_cases()[0], broken_case()], return_exceptions=True)
    assert [isinstance(result, CaseFailed) for result in results] == [True, False, True]
    assert [result.index for result in results if isinstance(result, CaseFailed)] == [0, 2]


def test_a_failure_survives_the_way_between_processes():
    failure = CaseFailed(3, "RunFailed", "the integrator stopped", "somewhere")
    back = pickle.loads(pickle.dumps(failure))
    assert (str(back), back.index, back.kind, back.sentence, back.trace) == (
        "case 3: RunFailed: the integrator stopped",
        3,
        "RunFailed",
        "the integrator stopped",
        "somewhere",
    )


def test_progress_is_told_in_the_calling_thread_up_to_the_end():
    told: list[tuple[int, int]] = []
    threads = set()

    def progress(ready: int, total: int) -> None:
        told.append((ready, total))
        threads.add(threading.get_ident())

    cases = [Case(RIG, SITE, {"duration": 1.0})] * 23
    run_batch(cases, progress=progress)
    assert threads == {threading.get_ident()}
    assert [ready for ready, _ in told] == sorted({ready for ready, _ in told})
    assert told[-1] == (23, 23)
    assert {total for _, total in told} == {23}


def test_it_can_be_stopped_and_hands_over_what_is_ready():
    ready: list[int] = []
    cases = [Case(RIG, SITE, {"duration": 20.0})] * 2000
    with pytest.raises(BatchStopped, match="of 2000 runs ready") as info:
        run_batch(
            cases,
            channels=("suction_pressure",),
            progress=lambda count, total: ready.append(count),
            should_stop=lambda: bool(ready),
        )
    results = info.value.results
    assert 0 < len(results) < 500
    assert all(isinstance(run, LightRun) for run in results.values())


def test_an_error_of_the_caller_drops_what_is_waiting():
    class Pool(ThreadPoolExecutor):
        started = 0

        def submit(self, *args, **kwargs):
            Pool.started += 1
            return super().submit(*args, **kwargs)

    def progress(ready: int, total: int) -> None:
        raise KeyboardInterrupt

    cases = [Case(RIG, SITE, {"duration": 20.0})] * 1000
    with Pool(1) as pool, pytest.raises(KeyboardInterrupt):
        run_batch(cases, executor=pool, progress=progress)
    assert Pool.started < 250


def test_light_runs_hold_the_same_values_in_less_room(alone):
    channels = ("suction_pressure", "motive_pressure")
    light = run_batch(mixed_cases(), channels=channels, every=1.0)
    for one, whole in zip(light, alone, strict=True):
        assert one.time.shape == (41,)
        assert np.array_equal(one.time, whole.time[::10])
        assert np.array_equal(one.suction_pressure, whole.suction_pressure[::10])
        assert np.array_equal(one.motive_pressure, whole.motive_pressure[::10])
        assert np.array_equal(one.relief_pops, whole.relief_pops[::10])
        assert one.outcome == whole.outcome
        assert one.events == whole.events
        assert one.primed == whole.primed
        assert np.array_equal(one.final.y, whole.states[-1])
        assert one.series.base is None  # else the whole run would stay in memory
        assert one.time.base is None
        assert len(pickle.dumps(one)) < 0.05 * len(pickle.dumps(whole))
    with pytest.raises(AttributeError):
        _ = light[0].discharge_flow


@pytest.mark.parametrize(
    ("channels", "every", "message"),
    [
        (("suction",), 1.0, "there is no channel 'suction'"),
        (("suction_pressure",), 0.25, "a whole multiple of 0.1 s"),
        (("suction_pressure",), 0.0, "a whole multiple of 0.1 s"),
    ],
)
def test_a_wrong_channel_or_step_is_told_before_anything_runs(channels, every, message):
    class NoPool(Executor):
        def submit(self, *args, **kwargs):
            raise AssertionError("nothing should run")

    with pytest.raises(InputError, match=message):
        run_batch(mixed_cases(), channels=channels, every=every, executor=NoPool())
