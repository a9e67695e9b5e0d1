"""Poses and builds as arrays: the figures are those of the single pose and of the tolerance study."""

import signal
import threading
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import unloop

TOLERANCED = "models/ankle_toleranced.toml"
LENGTHS = {"ground": 0.2, "crank": 0.05, "coupler": 0.2, "rocker": 0.06}


def linkage(**other: Any) -> unloop.Linkage:
    return unloop.Linkage(**{**LENGTHS, "zero_crank": 1.4, **other})


@pytest.mark.parametrize("design", ["ankle", "knee_offset", "ankle_crossed", "gripper_finger"])
def test_poses_are_those_of_the_table_over_the_stroke(design: str) -> None:
    found = unloop.check(f"models/{design}.toml")
    lengths = {name: found["linkage"][f"{name}_m"] for name in LENGTHS}
    zero = found["zero"]["crank_rad"]
    table = unloop.stroke(f"models/{design}.toml", 301)["rows"]

    def column(key: str) -> np.ndarray[Any, np.dtype[np.float64]]:
        return np.array([row[key] for row in table], dtype=float)

    bars = unloop.Linkage(**lengths, zero_crank=zero, closure=found["linkage"]["closure"])
    joint, ratio, angle = bars.solve(column("motor_rad"))
    assert np.abs(joint - column("joint_rad")).max() < 1e-13
    assert np.abs(angle - column("transmission_angle_rad")).max() < 1e-13
    assert np.abs(1.0 / ratio - column("transmission_ratio")).max() < 1e-11


def test_poses_keep_the_shape_of_the_motor_turns() -> None:
    bars = linkage()
    grid = np.linspace(-0.5, 0.5, 12).reshape(3, 4)
    whole = bars.solve(grid)
    assert [row.shape for row in whole] == [(3, 4)] * 3
    for strided, wanted in ((grid.T, [row.T for row in whole]), (grid[:, ::2], [row[:, ::2] for row in whole])):
        for ours, theirs in zip(bars.solve(strided), wanted):
            assert np.array_equal(ours, theirs)
    assert [row.shape for row in bars.solve(0.25)] == [()] * 3
    assert bars.solve([])[0].shape == (0,)
    assert bars.solve([0, 0])[0].tolist() == [0.0, 0.0]
    assert np.array_equal(bars.solve(np.array([0.25], dtype=np.float32))[0], bars.solve([0.25])[0])


def test_a_turn_out_of_reach_is_not_a_number() -> None:
    bars = unloop.Linkage(100, 100, 60, 90, zero_crank=0.5)
    below, above = bars.reach
    assert below < 0.0 < above < 7.0
    joint, ratio, angle = bars.solve([below - 1e-6, below + 1e-6, above - 1e-6, above + 1e-6, np.nan])
    for row in (joint, ratio, angle):
        assert np.isnan(row).tolist() == [True, False, False, True, True]
    assert linkage().reach == (-np.inf, np.inf)


def test_what_is_no_linkage_is_refused() -> None:
    for wrong in ({"crank": 0.0}, {"ground": float("nan")}, {"zero_crank": float("inf")}, {"closure": "left"}):
        with pytest.raises(ValueError):
            linkage(**wrong)
    with pytest.raises(unloop.DesignError, match="close|meet"):
        linkage(coupler=0.01)
    with pytest.raises((TypeError, ValueError)):
        linkage().solve("far")
    assert repr(linkage()) == 'Linkage(0.2, 0.05, 0.2, 0.06, zero_crank=1.4, closure="open")'


def test_poses_agree_with_plain_numpy() -> None:
    g, a, b, c = (LENGTHS[name] for name in ("ground", "crank", "coupler", "rocker"))
    turn = np.linspace(-6.0, 6.0, 5001)
    phi = np.concatenate([[1.4], 1.4 + turn])
    hx, hy = a * np.cos(phi) - g, a * np.sin(phi)
    h2 = hx * hx + hy * hy
    k = (c * c + h2 - b * b) / (2 * c)
    s = -np.sqrt(h2 - k * k)
    psi = np.unwrap(np.arctan2(k * hy + s * hx, k * hx - s * hy)[1:])
    joint, ratio, angle = linkage().solve(turn)
    assert np.abs(joint - (psi - psi[2500])).max() < 1e-12
    assert np.abs(angle - np.arcsin(np.abs(s[1:]) / b)).max() < 1e-7
    assert np.abs(np.gradient(joint, turn) - ratio)[1:-1].max() < 1e-4


def test_builds_are_those_that_the_study_counts() -> None:
    builds, found = unloop.builds(TOLERANCED, 4096, 7), unloop.tolerance(TOLERANCED, 4096, 7)
    assert {row.shape for row in builds.values()} == {(4096,)}
    shares = {one["name"]: one["share"] for one in found["statistics"]["yields"]}
    limit = found["limits"]["angle_rad"]
    assert shares["closes"] == builds["closes"].mean()
    assert shares["angle"] == (builds["angle_error_rad"] <= limit).mean()
    mean = found["statistics"]["angle_error_rad"]["mean"]["value"]
    assert builds["angle_error_rad"].mean() == pytest.approx(mean, rel=1e-12)
    assert np.all(np.abs(builds["crank_m"] - 0.045) <= 0.05e-3 + 1e-12)
    assert np.all(builds["rocker_m"] - 0.045 <= 0.02e-3 + 1e-12)
    assert builds["zero_crank_error_rad"].tolist() == [0.0] * 4096
    ratio = found["ranges"]["ratio"]
    assert ratio["low"] <= builds["ratio"].min() and builds["ratio"].max() <= ratio["high"]


def test_builds_of_one_seed_are_the_same_and_more_begin_with_the_fewer() -> None:
    few, many, other = (unloop.builds(TOLERANCED, *which) for which in ((50, 3), (400, 3), (50, 4)))
    for key, row in few.items():
        assert np.array_equal(row, many[key][:50]), key
    assert not np.array_equal(few["crank_m"], other["crank_m"])


def test_a_build_moves_as_its_own_linkage() -> None:
    builds = unloop.builds(TOLERANCED, 20)
    motor = np.array(unloop.check(TOLERANCED)["stroke"]["motor_rad"])
    for k in range(20):
        lengths = [builds[f"{name}_m"][k] for name in ("ground", "crank", "coupler", "rocker")]
        zero = np.pi / 2 + builds["zero_crank_error_rad"][k]
        joint, _, angle = unloop.Linkage(*lengths, zero_crank=zero).solve(motor)
        assert joint[0] == pytest.approx(builds["joint_lower_rad"][k], abs=1e-9)
        assert joint[1] == pytest.approx(builds["joint_upper_rad"][k], abs=1e-9)
        assert angle.min() == pytest.approx(builds["transmission_angle_rad"][k], abs=1e-9)


def test_the_armature_of_a_build_is_the_rotors_at_its_own_ratio() -> None:
    text = Path("models/ankle.toml").read_text().replace('crank   = "45 mm"', 'crank   = "45 ±0.2 mm"')
    text = text.replace('rocker = "90 deg"', 'rocker = "90 deg"\nset_by = "jig"')
    builds = unloop.builds(text, 30)
    assert np.allclose(builds["armature_kg_m2"], 7.75**2 * 1.5e-4 * builds["ratio"] ** 2, rtol=1e-12)
    assert "armature_kg_m2" not in unloop.builds(TOLERANCED, 1)
    assert np.ptp(builds["ratio"]) > 0.0


def test_a_study_tells_how_far_it_is_and_stops_where_it_is_told_to() -> None:
    seen: list[tuple[int, int]] = []
    unloop.tolerance(TOLERANCED, 300_000, progress=lambda done, of: seen.append((done, of)))
    assert seen[0] == (0, 300_000) and len(seen) > 1 and seen == sorted(seen)
    found = unloop.tolerance(TOLERANCED, 10_000_000, progress=lambda done, of: done == 0)
    assert found["statistics"]["stopped"] and 0 < found["statistics"]["samples"] < 10_000_000
    assert len(unloop.builds(TOLERANCED, 1_000_000, progress=lambda done, of: done < 5000)["ratio"]) < 10_000


def test_what_a_callback_raises_ends_the_study() -> None:
    def fail(done: int, of: int) -> None:
        raise KeyError(done)

    for call in (unloop.tolerance, unloop.builds):
        with pytest.raises(KeyError):
            call(TOLERANCED, 1_000_000, progress=fail)


class Alarm(Exception):
    pass


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="there are no interval timers here")
def test_a_signal_ends_a_study_that_would_take_minutes() -> None:
    def ring(number: int, frame: object) -> None:
        raise Alarm

    before = signal.signal(signal.SIGALRM, ring)
    try:
        for call in (unloop.tolerance, unloop.builds):
            signal.setitimer(signal.ITIMER_REAL, 0.3)
            with pytest.raises(Alarm):
                call(TOLERANCED, 100_000_000)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def test_other_threads_go_on_while_a_study_runs() -> None:
    done = threading.Event()

    def study() -> None:
        unloop.tolerance(TOLERANCED, 2_000_000)
        done.set()

    thread = threading.Thread(target=study)
    thread.start()
    turns = 0
    while not done.wait(0.001):
        turns += 1
    thread.join()
    # With the lock held this thread would come in between rounds only, of which there are 16.
    assert turns > 40
