"""Voltage, coolant, boost, pedal, trims and supply pressure: known truths, coverage, reasons for absence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drive_sample import PLAN, Drive
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.channels import build
from logan.drive import segment
from logan.knowledge import measures as catalogue
from logan.measures import compute, registry
from logan.measures.heat import heat_made
from logan.measures.settled import settled_spans
from logan.measures.trims import fuel_trims
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.measure import Measure, Missing
from logan.model.profile import EngineProfile
from logan.model.record import Record

# contract, section 6
CONTRACT = {
    "idle_speed_mean_rpm",
    "idle_speed_std_rpm",
    "idle_speed_p2p_rpm",
    "idle_hunt_frequency_hz",
    "idle_hunt_amplitude_rpm",
    "cam_phase_error_deg",
    "cam_phase_delay_ms",
    "cam_phase_jitter_deg",
    "cam_phase_drift_deg_per_min",
    "crank_dropouts_per_1000rev",
    "cam_dropouts_per_1000rev",
    "crank_wheel_runout_percent",
    "timing_error_static_deg",
    "timing_error_delay_ms",
    "timing_error_load_deg",
    "timing_error_drift_deg_per_min",
    "timing_hysteresis_deg",
    "supply_pressure_min_kpa_gauge",
    "rail_error_percent",
    "rail_swing_percent",
    "rail_leakdown_kpa_per_s",
    "rail_build_time_s",
    "cylinder_contribution_percent",
    "cylinder_compression_percent",
    "warmup_plateau_degc",
    "boost_error_kpa",
    "running_voltage_v",
    "pedal_track_error_percent",
    "fuel_trim_total_idle_percent",
    "fuel_trim_total_cruise_percent",
}

TRUTHS = {
    "supply_pressure_min_kpa_gauge": "supply_loaded",
    "warmup_plateau_degc": "plateau",
    "boost_error_kpa": "boost_error",
    "running_voltage_v": "volts",
    "fuel_trim_total_idle_percent": "trim_idle",
    "fuel_trim_total_cruise_percent": "trim_cruise",
    "pedal_track_error_percent": "track_error",
}


def measured(drive: Drive) -> tuple[dict[str, Measure], dict[str, str]]:
    found, missing = compute(drive.record())
    return {m.name: m for m in found}, {m.measure: m.why for m in missing}


def of(*channels: Channel) -> tuple[dict[str, Measure], dict[str, str]]:
    channel_set, _ = build(channels, EngineProfile())
    record = Record(
        captures=(), channels=channel_set, states=segment(channel_set, EngineProfile()), profile=EngineProfile()
    )
    found, missing = compute(record)
    return {m.name: m for m in found}, {m.measure: m.why for m in missing}


def test_the_catalogue_holds_the_contract() -> None:
    info = catalogue.load()
    assert {name for name, entry in info.items() if entry.core} == CONTRACT
    for entry in info.values():
        assert all((entry.title, entry.meaning.endswith("."), entry.hint.endswith("."), entry.group))
        assert 0 <= entry.decimals <= 4


@pytest.mark.parametrize(
    "drive",
    [
        Drive(),
        Drive(rate=2.0, slow_rate=1.0, jitter=0.2),
        Drive(
            rate=20.0, slow_rate=10.0, volts=12.5, supply_loaded=42.0, boost_error=-28.0, plateau=66.0, warm_start=65.0,
            track_error=9.0, trim_idle=14.0, trim_cruise=6.0,
        ),
    ],
    ids=["healthy", "slow", "faulty"],
)  # fmt: skip
def test_intervals_cover(drive: Drive) -> None:
    """Wider than 95 % on purpose where a systematic part (sensor, step of the value) is allowed for."""
    runs = 12
    covered = dict.fromkeys(TRUTHS, 0)
    for seed in range(runs):
        drive.seed = seed
        found, missing = measured(drive)
        for name, knob in TRUTHS.items():
            if name.startswith("fuel_trim") and drive.plateau < 70.0:
                assert name in missing  # no warm engine, no verdict on the mixture
                covered[name] += 1
                continue
            covered[name] += found[name].low <= getattr(drive, knob) <= found[name].high
    assert min(covered.values()) >= 10, covered


def test_faults_stand_clear_of_health() -> None:
    healthy, _ = measured(Drive())
    faulty, _ = measured(Drive(volts=12.4, supply_loaded=40.0, boost_error=-30.0, trim_idle=14.0, track_error=10.0))
    for name in (
        "running_voltage_v", "supply_pressure_min_kpa_gauge", "boost_error_kpa", "fuel_trim_total_idle_percent",
        "pedal_track_error_percent",
    ):  # fmt: skip
        a, b = healthy[name], faulty[name]
        assert a.low > b.high or a.high < b.low, name


def test_every_measure_says_what_it_was_computed_on() -> None:
    found, missing = measured(Drive())
    for measure in found.values():
        assert measure.low <= measure.value <= measure.high
        assert measure.n > 0
        assert measure.provenance.files == ["made_up.csv"]
        assert measure.provenance.channels
        assert measure.provenance.spans_s
    assert all(missing.values())


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_record_is_too_odd(data: st.DataObject) -> None:
    """Any subset of channels, any lengths, equal times, values that are no numbers: measures or reasons, no error."""
    channels = []
    for c in Drive(plan=PLAN[:6], rate=5.0).channels():
        kind = data.draw(st.sampled_from(["whole", "none", "few", "constant", "blank", "holes", "twice"]), c.name)
        t_s, value = c.t_s, c.value.copy()
        if kind == "none":
            continue
        if kind == "few":
            n = data.draw(st.integers(0, 4))
            t_s, value = t_s[:n], value[:n]
        elif kind == "constant":
            value[:] = value.mean()
        elif kind == "blank":
            value[:] = np.nan
        elif kind == "holes":
            value[data.draw(st.integers(0, 50)) :: data.draw(st.integers(1, 7))] = np.nan
        elif kind == "twice":
            t_s = np.repeat(t_s[::2], 2)[: len(value)]
            value = value[: len(t_s)]
        channels.append(Channel(c.name, c.unit, t_s, value, source=c.source, file=c.file))
    found, missing = of(*channels)
    for measure in found.values():
        assert np.isfinite([measure.value, measure.low, measure.high]).all(), measure
        assert measure.low <= measure.value <= measure.high, measure
    assert not found.keys() & missing.keys()


def test_the_catalogue_order_is_kept_and_hints_are_given() -> None:
    found, missing = compute(Drive().record())
    order = list(catalogue.load())
    assert [m.name for m in found] == sorted((m.name for m in found), key=order.index)
    assert all(m.capture_hint for m in missing)


def test_voltage_does_not_count_the_start() -> None:
    found, _ = measured(Drive(volts=14.2))
    first = found["running_voltage_v"].provenance.spans_s[0]
    assert first[0] >= 6.0 + 5.0
    assert found["running_voltage_v"].low > 14.0


def test_coolant_that_still_rises_is_extrapolated_or_withheld() -> None:
    plan = (("drive", 420, 1500, 40, 20, 60),)
    found, _ = measured(Drive(plan=plan, plateau=85.0, warm_start=15.0, warm_time_s=150.0))
    plateau = found["warmup_plateau_degc"]
    assert "extrapolated" in plateau.provenance.note
    assert plateau.low <= 85.0 <= plateau.high
    _, missing = measured(Drive(plan=plan, plateau=85.0, warm_start=15.0, warm_time_s=900.0))
    assert "not levelled off" in missing["warmup_plateau_degc"]


def test_an_extrapolation_clears_no_thermostat_that_has_yet_to_open() -> None:
    """A closed thermostat lets an engine head for far more than it will ever have: only a part of the rise was seen."""
    plan = (("drive", 420, 1500, 40, 20, 60),)
    for plateau, time_s in ((110.0, 300.0), (130.0, 400.0), (95.0, 300.0)):
        found, missing = measured(Drive(plan=plan, plateau=plateau, warm_start=10.0, warm_time_s=time_s))
        assert "warmup_plateau_degc" not in found
        assert "not levelled off" in missing["warmup_plateau_degc"]


def test_an_extrapolation_may_say_too_cold() -> None:
    plan = (("idle", 20, 800, 22, 0, 0), ("drive", 380, 1500, 40, 20, 60))
    found, _ = measured(Drive(plan=plan, plateau=60.0, warm_start=15.0, warm_time_s=150.0))
    plateau = found["warmup_plateau_degc"]
    assert "extrapolated" in plateau.provenance.note
    assert plateau.low <= 60.0 <= plateau.high < 82.0


@pytest.mark.parametrize(("speed", "load", "judged"), [(1500, 40, True), (2000, 0, False), (1500, 12, False)])
def test_a_cold_level_counts_only_where_heat_was_made(speed: int, load: int, judged: bool) -> None:
    """Downhill without load nothing warms the coolant, whatever its thermostat does."""
    plan = (("idle", 30, 800, 22, 0, 0), ("drive", 100, 1500, 40, 20, 60), ("drive", 320, speed, load, 15, 60))
    found, missing = measured(Drive(plan=plan, plateau=41.0, warm_start=15.0, warm_time_s=30.0))
    assert ("warmup_plateau_degc" in found) is judged
    assert judged or "too little heat" in missing["warmup_plateau_degc"]
    # what has got warm was warm, with little heat as well
    found, _ = measured(Drive(plan=plan, plateau=88.0, warm_start=70.0, warm_time_s=30.0))
    assert "warmup_plateau_degc" in found


@pytest.mark.parametrize("air_degc", [-12.0, 15.0, 20.0])
def test_heat_is_told_in_that_of_idling(air_degc: float) -> None:
    """40 % at 1600 rpm is four times 20 % at 800 rpm; the distance from the air says what is needed."""
    plan = (("idle", 60, 800, 20, 0, 0), ("drive", 300, 1600, 40, 20, 60))
    made = Drive(plan=plan, plateau=60.0, warm_start=air_degc, warm_time_s=30.0).record()
    heat = heat_made(made, 70.0, 360.0)
    assert heat.made == pytest.approx(4.0, rel=0.05)
    assert heat.overall == pytest.approx((60.0 * 1.0 + 300.0 * 4.0) / 360.0, rel=0.05)
    assert heat.needed == pytest.approx(2.0 * (82.0 - air_degc) / (82.0 - 20.0), rel=0.05)
    # a fuel rate says the same by itself
    fuel = Drive(plan=plan, warm_start=air_degc, leave_out=("calculated_load",)).record()
    t_s = fuel.channels.best["engine_speed"].t_s
    rate = Channel("fuel_rate", "L/h", t_s, np.where(t_s < 60.0, 0.8, 2.4), source="made up", file="made_up.csv")
    with_fuel = replace(fuel, channels=ChannelSet({**fuel.channels.best, "fuel_rate": rate}))
    assert heat_made(with_fuel, 70.0, 360.0).made == pytest.approx(3.0, rel=0.05)


def test_a_short_record_has_no_plateau() -> None:
    _, missing = measured(Drive(plan=(("drive", 60, 1500, 40, 20, 60),), warm_start=84.0, plateau=88.0))
    assert "after 1.0 min" in missing["warmup_plateau_degc"]


def test_an_engine_that_only_idled_has_no_plateau() -> None:
    # An idling diesel sheds more heat than it makes: common practice, no source.
    _, missing = measured(Drive(plan=(("idle", 420, 800, 22, 0, 0),), warm_start=71.0, plateau=71.0))
    assert "idle" in missing["warmup_plateau_degc"]


@pytest.mark.parametrize(("ratio", "error"), [(1.0, 0.0), (0.5, 0.0), (2.0, 0.0), (1.0, 8.0), (0.5, 8.0)])
def test_pedal_tracks(ratio: float, error: float) -> None:
    plan = (("drive", 30, 1500, 40, 10, 50), ("drive", 30, 1500, 40, 35, 50), ("idle", 20, 800, 22, 0, 0))
    found, _ = measured(Drive(plan=plan, track_ratio=ratio, track_error=error))
    measure = found["pedal_track_error_percent"]
    assert measure.low <= error <= measure.high
    assert f"{ratio:g} x" in measure.provenance.note


def test_a_pedal_offset_met_in_open_records_is_no_fault() -> None:
    """Both tracks of an open drive log rest at 16.1 and 31.8 % and rise together: no fault was noted there."""
    t_s = np.arange(0.0, 60.0, 0.2)
    d = 16.1 + 20.0 * np.clip(np.sin(t_s / 5.0), 0.0, 1.0)
    found, _ = of(Channel("accelerator_pedal_d", "%", t_s, d), Channel("accelerator_pedal_e", "%", t_s, d + 15.7))
    assert found["pedal_track_error_percent"].value < 1.0


@pytest.mark.parametrize(("offset", "seed"), [(0.0, 1), (0.0, 2), (9.0, 3), (9.0, 4), (-12.0, 5)])
def test_tracks_polled_slowly_while_the_pedal_moves(offset: float, seed: int) -> None:
    """At one position an offset looks like another ratio between the tracks: the whole travel tells them apart."""
    rng = np.random.default_rng(seed)
    fine_s = np.arange(0.0, 400.0, 0.1)
    travel = np.interp(
        fine_s, np.arange(0.0, 401.0, 6.0), np.where(rng.random(67) < 0.6, 0.0, rng.uniform(5.0, 90.0, 67))
    )
    second = np.where(travel > 1.0, np.clip(travel + offset, 0.0, 100.0), travel)
    d_s = np.arange(0.0, 398.0, 3.7)
    found, _ = of(
        Channel("accelerator_pedal_d", "%", d_s, np.interp(d_s, fine_s, travel)),
        Channel("accelerator_pedal_e", "%", d_s + 0.8, np.interp(d_s + 0.8, fine_s, second)),
    )
    measure = found["pedal_track_error_percent"]
    if offset:
        assert measure.low <= abs(offset) <= measure.high
        assert measure.low > 3.0
    else:
        assert measure.value < 3.0


@pytest.mark.parametrize("seed", range(4))
def test_the_cells_of_a_table_s_row_need_not_be_of_one_instant(seed: int) -> None:
    """A recorder that asks for one value after the other writes them into one row (common practice, no source)."""
    rng = np.random.default_rng(seed)
    fine_s = np.arange(0.0, 300.0, 0.05)
    steps = np.where(rng.random(200) < 0.5, 0.0, rng.uniform(5.0, 80.0, 200))
    travel = np.interp(fine_s, np.cumsum(rng.uniform(0.4, 3.0, 200)), steps)
    t_s = np.arange(0.0, 298.0, 1.0)
    cells = [np.interp(t_s + late, fine_s, travel) for late in (0.0, 0.6)]
    d, e = (
        Channel(f"accelerator_pedal_{k}", "%", t_s, v, source=f"column {k}") for k, v in zip("de", cells, strict=True)
    )
    measure = of(d, e)[0]["pedal_track_error_percent"]
    assert measure.low < 5.0


def test_a_rounded_pedal_at_one_error_is_told_within_its_steps() -> None:
    """Rounding of many positions averages out: the interval is narrower than one step of e (0.78 % of d) each way."""
    rng = np.random.default_rng(3)
    t_s = np.arange(0.0, 120.0, 0.1)
    d = np.repeat(rng.uniform(15.0, 80.0, 24), 50)
    e = 0.5 * (d + 5.0)
    step = 100.0 / 255.0
    d, e = (step * np.round(x / step) for x in (d, e))
    found, _ = of(Channel("accelerator_pedal_d", "%", t_s, d), Channel("accelerator_pedal_e", "%", t_s, e))
    measure = found["pedal_track_error_percent"]
    assert measure.low <= 5.0 <= measure.high
    assert measure.high - measure.low < 1.0


def test_a_pedal_that_never_moves_does_not_show_its_ratio() -> None:
    """Released, d at 0 and e at 2.75 %: an error of 5.5, 2.75 or 1.4 % of d, for a ratio of 1/2, 1 or 2."""
    t_s = np.arange(0.0, 60.0, 0.2)
    d, e = (Channel(f"accelerator_pedal_{k}", "%", t_s, np.full(len(t_s), x)) for k, x in (("d", 0.0), ("e", 2.75)))
    measure = of(d, e)[0]["pedal_track_error_percent"]
    assert measure.low < 1.375 < 5.5 < measure.high
    # where a usual ratio fits there is nothing to doubt but the steps
    d, e = (Channel(f"accelerator_pedal_{k}", "%", t_s, np.full(len(t_s), x)) for k, x in (("d", 15.0), ("e", 15.0)))
    measure = of(d, e)[0]["pedal_track_error_percent"]
    assert measure.low == 0.0 < measure.high < 1.0


def test_what_is_learnt_for_two_loads_is_no_step_of_the_numbers() -> None:
    """Long term trims of 3.1 % at idle and 18.8 % on the road: two values show no step, and doubt neither mean."""
    rng = np.random.default_rng(5)
    t_s = np.arange(0.0, 400.0, 0.5)
    on_road = t_s >= 120.0
    step = 100.0 / 128.0
    short = step * np.round((2.0 * np.sin(3.0 * t_s) + rng.normal(0.0, 1.0, len(t_s))) / step)
    channels = {
        "short_term_fuel_trim_1": short, "long_term_fuel_trim_1": np.where(on_road, 24.0, 4.0) * step,
        "engine_speed": np.where(on_road, 1800.0, 800.0),
    }  # fmt: skip
    record = Record(
        (), ChannelSet({name: Channel(name, "", t_s, value) for name, value in channels.items()}),
        DriveStates((Span("idle_warm", 0.0, 120.0), Span("cruise", 120.0, 400.0))), EngineProfile(),
    )  # fmt: skip
    found = {m.name: m for m in fuel_trims(record) if isinstance(m, Measure)}
    for name, truth in (("fuel_trim_total_idle_percent", 4.0 * step), ("fuel_trim_total_cruise_percent", 24.0 * step)):
        assert found[name].low <= truth <= found[name].high
        assert found[name].high - found[name].low < 2.0


def test_a_track_that_drops_out_now_and_then() -> None:
    t_s = np.arange(0.0, 120.0, 0.1)
    d = 20.0 + 10.0 * (t_s > 60.0)
    e = np.where((t_s % 20.0) < 1.5, 0.0, d)
    found, _ = of(Channel("accelerator_pedal_d", "%", t_s, d), Channel("accelerator_pedal_e", "%", t_s, e))
    assert found["pedal_track_error_percent"].value > 15.0


def dabbed(rng: np.random.Generator, seconds: float, rest: float) -> tuple[np.ndarray, np.ndarray]:
    """A foot in traffic: held for some seconds, dabbed and lifted for less than one (common practice, no source)."""
    fine_s = np.arange(0.0, seconds, 0.02)
    number = int(seconds)
    hold = np.where(rng.random(number) < 0.4, rng.uniform(0.3, 1.5, number), rng.uniform(2.0, 15.0, number))
    level = np.where(rng.random(number) < 0.5, 0.0, rng.uniform(5.0, 80.0, number))
    aim = level[np.searchsorted(np.cumsum(hold), fine_s)]
    most = 100.0 / 0.3 * 0.02  # through the whole travel in 0.3 s
    travel = np.empty(len(aim))
    at = 0.0
    for k, x in enumerate(aim):
        at += float(np.clip(x - at, -most, most))
        travel[k] = at
    return fine_s, rest + (100.0 - rest) / 100.0 * travel


def one_after_the_other(
    rng: np.random.Generator, fine_s: np.ndarray, d: np.ndarray, e: np.ndarray, period_s: float, later_s: float
) -> tuple[Channel, Channel]:
    """Both tracks as polled, in steps of SAE J1979-DA PID 49 and 4A."""
    t_s = np.arange(0.0, fine_s[-1] - 2.0 * period_s, period_s)
    t_s = t_s + rng.uniform(-0.1, 0.1, len(t_s)) * period_s
    step = 100.0 / 255.0
    tracks = [
        Channel(
            f"accelerator_pedal_{name}", "%", x, step * np.round(np.interp(x, fine_s, track) / step), half_width_s=0.05
        )
        for name, track, x in (("d", d, t_s), ("e", e, t_s + later_s))
    ]
    return tracks[0], tracks[1]


@pytest.mark.parametrize("period_s", [1.5, 3.0, 6.0])
@pytest.mark.parametrize("ratio", [1.0, 0.5])
def test_good_tracks_polled_slowly_in_short_records_are_no_fault(period_s: float, ratio: float) -> None:
    """A window of one or two readings shows no stillness: what a pedal in motion feigns is no difference of tracks."""
    for seed in range(12):
        rng = np.random.default_rng(seed)
        fine_s, d = dabbed(rng, float(rng.uniform(80.0, 400.0)), 0.0 if seed % 2 else 15.0)
        found, _ = of(
            *one_after_the_other(rng, fine_s, d, ratio * d, period_s, float(rng.uniform(0.1, 0.5) * period_s))
        )
        measure = found["pedal_track_error_percent"]
        assert measure.value < 2.0, (seed, measure)
        assert measure.low < 1.0, (seed, measure)


@pytest.mark.parametrize("ratio", [1.0, 0.5, 2.0])
@pytest.mark.parametrize("shared", [1.0, 0.7])
def test_a_track_that_fails_for_a_few_seconds_of_many_minutes(ratio: float, shared: float) -> None:
    """Read in one answer most of the time: what they differ by is theirs, however the pedal moves."""
    rng = np.random.default_rng(7)
    fine_s, d = dabbed(rng, 600.0, 10.0)
    d = 0.45 * d
    e = ratio * d
    good_s = np.arange(0.0, 598.0, 0.9)
    apart = rng.random(len(good_s)) >= shared
    # where the pedal is pressed, a fifth of its signal is left for 2.5 s, three times
    lapses_s = [float(fine_s[np.flatnonzero((fine_s > x) & (d > 20.0))[0]]) for x in (100.0, 300.0, 500.0)]
    bad = np.any([(fine_s >= x) & (fine_s < x + 2.5) for x in lapses_s], axis=0)
    late_s = np.where(apart, good_s + 0.4, good_s)
    for track, least, most in ((np.where(bad, 0.2 * e, e), 10.0, 45.0), (e, 0.0, 1.0)):
        found, _ = of(
            Channel("accelerator_pedal_d", "%", good_s, np.interp(good_s, fine_s, d)),
            Channel("accelerator_pedal_e", "%", late_s, np.interp(late_s, fine_s, track)),
        )
        measure = found["pedal_track_error_percent"]
        assert least <= measure.value <= most
        assert measure.low >= 0.9 * least
    assert measure.high < 2.0


@pytest.mark.parametrize(("lasts_s", "told"), [(8.0, True), (2.5, False)])
def test_a_track_polled_slowly_that_fails_while_the_pedal_stands(lasts_s: float, told: bool) -> None:
    """Three readings in a row while the other track keeps still are no pedal; of one the interval says it may be."""
    rng = np.random.default_rng(11)
    fine_s = np.arange(0.0, 600.0, 0.02)
    d = 15.0 + (30.0 + np.floor(fine_s / 40.0)) * (np.floor(fine_s / 40.0) % 2)
    e = np.where(np.abs(fine_s - 380.0) < 0.5 * lasts_s, 0.25 * d, d)
    found, _ = of(*one_after_the_other(rng, fine_s, d, e, 2.2, 0.3))
    measure = found["pedal_track_error_percent"]
    if told:
        assert measure.low <= 0.75 * 54.0 <= measure.high
        assert measure.low > 38.0
    else:
        assert measure.low < 1.0
        assert measure.high > 38.0


def test_idle_validation_against_the_track() -> None:
    t_s = np.arange(0.0, 100.0, 0.1)
    d = np.where(t_s % 20.0 < 10.0, 0.0, 40.0)
    good = (d < 2.0).astype(float)
    found, _ = of(Channel("accelerator_pedal_d", "%", t_s, d), Channel("idle_validation", "", t_s, good))
    assert found["idle_validation_conflict_percent"].high < 2.0
    one = found["idle_validation_conflict_percent"]
    exact = 100.0 * (1.0 - 0.05 ** (1.0 / one.n))  # Clopper and Pearson 1934: none in n, one-sided 95 %
    assert (one.value, one.low, one.high) == (0.0, 0.0, pytest.approx(exact, rel=0.01))
    stuck = Channel("idle_validation", "", t_s, np.ones(len(t_s)))
    found, _ = of(Channel("accelerator_pedal_d", "%", t_s, d), stuck)
    assert found["idle_validation_conflict_percent"].value == pytest.approx(50.0, abs=3.0)


def test_a_dip_of_half_a_second_is_not_sustained() -> None:
    """Contract: the lowest value that lasts a second; a shorter dip counts only with its mean over the second."""
    t_s = np.arange(0.0, 60.0, 0.05)
    load = np.full(len(t_s), 80.0)
    steady = np.where((t_s > 20.0) & (t_s < 23.0), 50.0, 100.0)
    short = np.where((t_s > 20.0) & (t_s < 20.1), 10.0, 100.0)
    for value, low, high in ((steady, 49.0, 51.0), (short, 85.0, 101.0)):
        found, _ = of(
            Channel("fuel_supply_pressure", "kPa", t_s, value), Channel("calculated_load", "%", t_s, load)
        )  # fmt: skip
        assert low <= found["supply_pressure_min_kpa_gauge"].value <= high


@pytest.mark.parametrize(
    ("drive", "name", "words"),
    [
        (Drive(plan=PLAN[:4]), "supply_pressure_min_kpa_gauge", "never stayed at 60 %"),
        (Drive(plan=PLAN[:4]), "boost_error_kpa", "never stayed at 60 %"),
        (Drive(leave_out=("boost_pressure_commanded",)), "boost_error_kpa", "boost_pressure_commanded"),
        (Drive(leave_out=("accelerator_pedal_e",)), "pedal_track_error_percent", "accelerator_pedal_e"),
        (Drive(plan=PLAN[:1]), "running_voltage_v", "while the engine runs"),
        (Drive(plan=PLAN[:3]), "fuel_trim_total_cruise_percent", "no steady driving"),
        (Drive(leave_out=("short_term_fuel_trim_1",)), "fuel_trim_total_idle_percent", "short_term_fuel_trim_1"),
    ],
)
def test_what_is_missing_is_explained(drive: Drive, name: str, words: str) -> None:
    found, missing = measured(drive)
    assert name not in found
    assert words in missing[name]


def test_a_measure_without_an_end_is_missing_and_a_reason_from_the_record_goes_first() -> None:
    def unbounded(_: Record) -> list[Measure]:
        return [Measure(name="a", unit="", value=[np.float64(1.0)], low=[0.0], high=[np.inf], n=1)]

    def short(_: Record) -> list[Missing]:
        return [Missing(measure="b", why="only 3 s", capture_hint="")]

    rules = [
        registry.Rule(("b",), (), True, short), registry.Rule(("a",), (), False, unbounded),
        registry.Rule(("b",), (), False, short),
    ]  # fmt: skip
    empty = Record(captures=(), channels=ChannelSet({}), states=DriveStates(), profile=EngineProfile())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(registry, "_RULES", rules)
        found, missing = registry.run(empty, {})
    assert not found
    assert {m.measure: m.why for m in missing} == {
        "a": "the record does not bound it: its interval has no end", "b": "only 3 s",
    }  # fmt: skip


def test_a_step_of_the_idle_target_is_a_change_of_state() -> None:
    """An accessory lifts idle by 40 rpm for half of the time: neither level scatters by more than its noise."""
    rng = np.random.default_rng(5)
    t_s = np.arange(0.0, 120.0, 0.1)
    target = np.where(t_s % 30.0 < 15.0, 800.0, 840.0)
    speed = Channel("engine_speed", "rpm", t_s, target + rng.normal(0.0, 3.0, len(t_s)))
    asked = Channel("idle_speed_target", "rpm", t_s, target)
    states = DriveStates((Span("idle_warm", 0.0, 120.0),))
    record = Record((), ChannelSet({"engine_speed": speed, "idle_speed_target": asked}), states, EngineProfile())
    spans = settled_spans(record, "idle_warm")
    assert len(spans) == 8
    assert all(round(begin % 15.0, 1) == 5.0 for begin, _ in spans)
