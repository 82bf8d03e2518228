"""The size that is asked for against the closed form that gives it its meaning: settled states of each part."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from logan import simulate
from logan.simulate import monitors, parameters
from logan.simulate.injection import Rail, Supply
from logan.simulate.spec import Defects
from logan.simulate.vehicle import ChargeAir

STEP_S = 0.01
SETTLED = 2000  # steps


def supply_kpa(profile: str, flow_share: float, sag_kpa: float) -> float:
    part = Supply(parameters.engine(profile))
    for _ in range(SETTLED):
        part.step(STEP_S, flow_share, True, Defects(supply_sag_kpa=sag_kpa))
    return part.pressure_kpa


@pytest.mark.parametrize("profile", ["training_rotary_six", "training_rail_four", "training_rail_v8"])
def test_supply_sags_by_the_size_at_full_flow_and_by_half_at_half(profile: str) -> None:
    for share in (0.5, 1.0):
        assert supply_kpa(profile, share, 0.0) - supply_kpa(profile, share, 60.0) == pytest.approx(60.0 * share)


def rail(profile: str, loss_percent: float) -> Rail:
    part = Rail(parameters.engine(profile))
    for _ in range(SETTLED):
        part.step(
            STEP_S, 2500.0, 1.0, 1.0, 0.0, Defects(rail_loss_percent=loss_percent), fuelled=True, powered=True
        )  # fmt: skip
    return part


@pytest.mark.parametrize("loss_percent", [0.0, 10.0, 30.0])
def test_rail_lacks_the_size_in_percent_of_the_command_at_full_demand(loss_percent: float) -> None:
    part = rail("training_rail_four", loss_percent)
    assert part.pressure_kpa == pytest.approx(part.command_kpa * (1.0 - loss_percent / 100.0), rel=1e-6)


@pytest.mark.parametrize("leak_kpa", [0.0, 20.0, 60.0])
def test_boost_lacks_the_size_at_full_boost(leak_kpa: float) -> None:
    engine = parameters.engine("training_rail_four")
    air = ChargeAir(engine, ambient_kpa=100.0)
    for _ in range(SETTLED):
        air.step(STEP_S, engine.rated_rpm, 1.0, Defects(boost_leak_kpa=leak_kpa))
    assert air.command_kpa == pytest.approx(100.0 + engine.boost_full_kpa, rel=1e-6)
    assert air.command_kpa - air.manifold_kpa == pytest.approx(leak_kpa, abs=1e-6)


@pytest.mark.parametrize(
    "profile", ["training_rotary_six", "training_rail_four", "training_rail_v8", "training_spark_four"]
)
def test_a_good_engine_idles_at_its_target(profile: str) -> None:
    run = simulate.run(simulate.make_spec(profile=profile, drive="idle_only", seed=4))
    idle = parameters.profile(profile).idle
    assert idle is not None
    t_s = np.arange(40.0, 70.0, 0.05)
    mean = float(run.signals.exact("engine_speed", t_s).mean())
    assert mean == pytest.approx(idle.target_rpm, abs=8.0)


def test_a_code_is_pending_after_its_hold_and_confirmed_after_the_longer_time() -> None:
    rule = next(one for one in monitors.monitors() if one.code == 0x0016)
    run = simulate.run(
        simulate.make_spec(profile="training_rail_four", drive="idle_only", fault="cam_phase_offset", size=9.0, seed=4)
    )
    signals = run.signals
    (code,) = (code for code in monitors.watch(signals) if code.code == rule.code)
    t_s = np.arange(0.0, signals.run.end_s, 0.05)
    running = t_s[signals.exact("running", t_s) > 0]
    assert code.pending_s - running[0] == pytest.approx(rule.hold_s, abs=0.6)
    assert code.confirmed_s - code.pending_s == pytest.approx(rule.confirm_s - rule.hold_s, abs=0.3)


def test_every_rule_confirms_later_than_it_suspects() -> None:
    for rule, other in itertools.pairwise(monitors.monitors()):
        assert rule.confirm_s > rule.hold_s > 0.0
        assert other.confirm_s > other.hold_s > 0.0
