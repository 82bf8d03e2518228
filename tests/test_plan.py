"""The plan of a recording: its rate holds, more never shows less, and errors of the stated size are detected.

"Detected" is judged by the code that measures; a third of the size must be missed more often than not, so that no size
is stated out of caution alone.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from cylinders_crank import Engine, Recording, run
from cylinders_crank import record as crank_record
from hypothesis import given, settings
from hypothesis import strategies as st
from ranking_cases import FAULTS, measures, record
from typer.testing import CliRunner

from logan import ranking
from logan.cli.commands import application
from logan.dsp import swing
from logan.dsp.decompose import decompose
from logan.errors import KnowledgeError, UsageError
from logan.knowledge import channels, faults, profiles
from logan.knowledge import plan as plan_files
from logan.measures.cranking import LOSS
from logan.measures.cylinders import cylinders as measure_cylinders
from logan.measures.rates import poisson_rate
from logan.measures.wheel_reading import read
from logan.model.measure import Measure, Provenance
from logan.model.plan import Plan
from logan.pipeline.plan import plan
from logan.planning import cylinders, precision, schedule
from logan.ranking.hypotheses import field
from logan.ranking.power import power
from logan.ranking.signs import good_engine
from logan.ranking.weigh import from_measures
from logan.report import plan_page, plan_text

DRIVE = [(800.0, 10.0, 60.0), (1200.0, 25.0, 60.0), (2600.0, 45.0, 60.0), (1800.0, 85.0, 20.0), (1800.0, 20.0, 40.0)]
PRIOR = np.array([np.inf, 0.5, 1.0, 3.0, 4.0])
FLOOR = np.zeros(5)
KNOWN = ranking.knowledge()
TABLES = Path(__file__).parent.parent / "dbc_open"


def often(detected: Callable[[float, int], bool], size: float, runs: int) -> None:
    """At least 80 % detection of the stated size, less than half of a third of it, with the scatter of so few runs."""
    hits = sum(detected(size, seed) for seed in range(runs))
    few = max(runs // 2, 1)
    small = sum(detected(size / 3.0, seed) for seed in range(few))
    assert hits >= 0.8 * runs - 1.65 * np.sqrt(0.16 * runs), f"{hits} of {runs}"
    assert small < 0.5 * few, f"a third: {small} of {few}"


@pytest.fixture(scope="module")
def everything() -> dict[str, Plan]:
    """The general plan of the same engine by each interface."""
    return {kind: plan((), "training_rail_v8", kind) for kind in ("can", "serial")}


@pytest.mark.parametrize(
    ("fault", "engine"),
    [("pump_key_wrong", "training_rotary_six"), ("mixture_lean", "training_spark_four"),
     ("rail_leakdown", "training_rail_four"), ("cylinder_fuel_low", None)],
)  # fmt: skip
def test_a_fault_has_a_plan_with_cautions(fault: str, engine: str | None) -> None:
    made = plan([fault], engine)
    assert made.faults == [fault]
    assert made.steps
    assert made.signals
    assert made.cautions
    assert [one.fault for one in made.sizes] == [fault]


@pytest.mark.parametrize("engine", profiles.names())
def test_a_fault_that_the_engine_cannot_have_is_refused(engine: str) -> None:
    profile = profiles.load(engine)[0]
    for fault in faults.load().faults.values():
        if not faults.fits(fault, profile):
            with pytest.raises(UsageError, match="cannot have"):
                plan([fault.id], engine)


def test_every_fault_would_show(everything: dict[str, Plan]) -> None:
    for made in everything.values():
        assert [one.fault for one in made.sizes] == made.faults
    for one in everything["can"].sizes:
        assert one.share, f"{one.fault}: nothing of it would show"
        assert one.share > 0.5 or one.fault.startswith("cylinder"), one


def test_every_main_sign_has_a_size_and_its_source(everything: dict[str, Plan]) -> None:
    known, profile = plan_files.load(), profiles.load("training_rail_v8")[0]
    by_name = {one.measure: one for one in everything["can"].smallest}
    for fault in faults.load().faults.values():
        for expect in fault.expect:
            assert not expect.main or expect.measure in known.noise
            if expect.main and faults.fits(fault, profile) and plan_files.possible(expect.measure, known, profile):
                one = by_name[expect.measure]
                assert one.value is not None or "yes or no" in one.method, one
                assert any(word in one.method for word in ("judgement", "derived", "definition")), one


def test_no_number_is_written_as_a_power_of_ten_and_no_step_is_cut(everything: dict[str, Plan]) -> None:
    said = plan_text.text(plan(["thermostat_stuck_open"], requests_per_second=0.01))
    assert "every 600 s, request 1" in " ".join(said.split())
    whole = plan_text.text(everything["serial"])
    assert not [text for text in (said, whole) if "e+" in text or "\N{HORIZONTAL ELLIPSIS}" in text]
    words = " ".join(whole.split())
    assert all(" ".join(step.title.split()) in words for step in everything["serial"].steps)
    assert max(map(len, whole.splitlines()[1:-2])) <= plan_text.WIDTH


def test_a_fault_of_a_part_that_an_engine_may_lack_says_so() -> None:
    spark = plan(["boost_leak"], "training_spark_four")
    assert [note for note in spark.notes if "engines with a turbocharger" in note]
    assert not [note for note in plan(["charging_voltage_low"]).notes if "turbocharger" in note]


def test_the_general_plan_is_short_and_the_page_holds_the_rest(everything: dict[str, Plan]) -> None:
    whole = everything["serial"]
    assert len(plan_text.text(whole).splitlines()) <= 45
    page = plan_page.render(whole)
    assert "Road-test card" in page
    for step in whole.steps:
        assert step.stop
        assert step.second
        assert step.title.split(";")[0] in page
    assert all(one.title in page for one in whole.sizes if "'" not in one.title)
    few = plan_text.text(plan(["boost_leak"], "training_rail_v8"))
    assert all(word in few for word in ("Second person:", "Stop:", "Cautions", "limit"))


def test_the_card_is_a_sheet_of_its_own() -> None:
    css = (Path(plan_page.__file__).parent / "assets" / "report.css").read_text("utf-8")
    assert "#card { break-before: page; break-after: page; }" in css


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 20), st.integers(0, 8), st.floats(0.2, 60.0), st.integers(1, 6))
def test_schedule_stays_within_the_rate(fast: int, slow: int, rate: float, together: int) -> None:
    pids = {f"c{k}": k for k in range(fast + slow)}
    periods = schedule.periods_s(pids, {f"c{k}": 5.0 for k in range(fast, fast + slow)}, rate, together)
    quick = periods["c0"]
    asked = -(-fast // together) / quick + sum(1.0 / periods[f"c{k}"] for k in range(fast, fast + slow))
    assert asked <= rate * (1.0 + 1e-9)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 30), min_size=2, max_size=15), st.integers(1, 6), st.data())
def test_what_belongs_together_is_asked_together(numbers: list[int], capacity: int, data: st.DataObject) -> None:
    pids = {f"c{k}": pid for k, pid in enumerate(numbers)}
    names = data.draw(st.lists(st.sampled_from(sorted(pids)), min_size=2, max_size=2, unique=True))
    turn = schedule.requests(pids, {}, capacity, [names])
    assert sorted(pid for one in turn for pid in one) == sorted(set(numbers))
    assert max(map(len, turn)) <= capacity
    first, second = (next(k for k, one in enumerate(turn) if pids[name] in one) for name in names)
    assert abs(first - second) <= (0 if capacity > 1 else 1)


@pytest.mark.parametrize("interface", ["serial", "can"])
def test_command_and_actual_share_a_request(everything: dict[str, Plan], interface: str) -> None:
    made = {s.channel: s.request for s in everything[interface].signals if s.request is not None}
    for pair in plan_files.load().together:
        asked = [made[name] for name in pair.channels if name in made]
        assert not asked or max(asked) - min(asked) <= (1 if interface == "serial" else 0)


def test_what_is_only_broadcast_is_not_promised_of_an_adapter_that_asks() -> None:
    asks, listens = (plan(["pump_key_reversed"], "training_rotary_six", kind) for kind in ("serial", "can"))
    unseen = {kind: [s.channel for s in made.signals if not s.seen] for kind, made in (("a", asks), ("l", listens))}
    assert unseen == {"a": ["injection_timing_commanded"], "l": []}
    assert "cannot see it" in asks.notes[0]
    assert "pump sensor" in asks.notes[0]
    errors = {one.measure: one for one in asks.smallest}
    assert errors["timing_error_static_deg"].value is None
    assert errors["pump_phase_error_deg"].value is not None  # its own sensor is tapped
    assert asks.sizes[0].measure == "pump_phase_error_deg"
    assert next(one.value for one in listens.smallest if one.measure == "timing_error_static_deg") is not None
    assert "this interface cannot see it" in plan_page.render(asks)


def test_one_pid_is_asked_for_where_there_is_one() -> None:
    """Service 01 PID 6D holds both rail pressures (SAE J1979); commanded timing has no PID."""
    rail = " ".join(plan(["rail_pressure_low"], "training_rail_four").notes)
    assert "come in one answer, PID 6D" in rail
    assert "PID" not in " ".join(plan(["pump_key_reversed"], "training_rotary_six").notes)


def test_the_page_names_the_fault_and_the_signals_as_the_trade_does() -> None:
    made = plan_page.render(plan(["pump_key_reversed"], "training_rotary_six"))
    lead = made.split('<p class="lead">')[1].split("</p>")[0]
    assert "Pump drive key fitted backwards" in lead
    assert "Commanded injection timing" in made
    assert "injection_timing_commanded" not in made


def test_one_pid_for_rail_and_boost(everything: dict[str, Plan]) -> None:
    made = {s.channel: s.request for s in everything["serial"].signals}
    assert made["fuel_rail_pressure_actual"] == made["fuel_rail_pressure_commanded"]
    assert made["intake_manifold_pressure"] == made["boost_pressure_commanded"]


@pytest.mark.parametrize(("table", "kind"), [("obd2_service01.csv", "pid"), ("j1939.csv", "spn")])
def test_numbers_against_the_public_tables(table: str, kind: str) -> None:
    """SAE J1979 and J1939-71 numbers as the tables that come with the program list them, by the channels' own names."""
    known = channels.load()
    with (TABLES / table).open(encoding="utf-8", newline="") as file:
        listed = {(int(row[kind], 0), row["signal"]) for row in csv.DictReader(file) if row[kind]}
    numbers = getattr(plan_files.load(), kind)
    assert len(numbers) >= 9
    for channel, number in numbers.items():
        names = {channel, *known[channel].names}
        assert any((number, name) in listed for name in names), f"{channel} is not {number} in {table}"


@settings(max_examples=40, deadline=None)
@given(st.floats(1.0, 4.0), st.floats(1.0, 4.0))
def test_more_rows_are_never_worse(longer: float, finer: float) -> None:
    columns = precision.rows(DRIVE, 2.0)[1]
    base = precision.bound(columns, 0.3, PRIOR)[0]
    more = np.vstack([columns, precision.rows([(v, q, s * (longer - 1.0)) for v, q, s in DRIVE], 2.0)[1]])
    assert np.all(precision.bound(more, 0.3, PRIOR)[0] <= base * (1 + 1e-9))
    assert np.all(precision.bound(columns, 0.3 / np.sqrt(finer), PRIOR)[0] <= base * (1 + 1e-9))


def test_bound_is_that_of_ordinary_least_squares() -> None:
    """Without priors the bound is s^2 (X' X)^-1, checked against numpy's covariance of a straight line."""
    x = np.linspace(0.0, 3.0, 40)
    sd = precision.bound(np.column_stack([np.ones(40), x]), 0.7, np.array([np.inf, np.inf]))[0]
    fitted = np.polyfit(x, np.zeros(40), 1, w=np.full(40, 1 / 0.7), cov="unscaled")[1]
    assert sd == pytest.approx(np.sqrt(np.diag(fitted))[::-1])


def test_timing_errors_of_the_stated_size_are_detected() -> None:
    """All terms that the drive tells at once: the model is linear. One run stands for one record with all of them."""
    t_s, columns = precision.rows(DRIVE, 5.0)
    sizes = precision.joint(t_s, columns, 0.3, PRIOR, FLOOR)
    assert np.isfinite(sizes).all()
    runs = 20

    def hits(part: float) -> np.ndarray:
        out = np.zeros(len(sizes))
        for seed in range(runs):
            y = np.random.default_rng(100 + seed).normal(0.0, 0.3, len(t_s)) + part * columns @ sizes
            fit = decompose(y, t_s, [(1.0, columns)], PRIOR)
            out += fit.value > fit.quantile() * np.sqrt(np.diag(fit.noise + fit.prior))
        return out

    whole = hits(1.0)
    # five terms: 2.33 standard deviations of so few runs are passed by chance in one of twenty
    assert (whole >= 0.8 * runs - 2.33 * np.sqrt(0.16 * runs)).all(), whole
    assert (hits(1.0 / 3.0) < 0.5 * runs).all()


@pytest.mark.parametrize("turns", [600.0, 2000.0, 20000.0])
def test_lost_edges_of_the_stated_rate_are_detected(turns: float) -> None:
    def detected(rate: float, seed: int) -> bool:
        lost = int(np.random.default_rng(seed).poisson(rate * turns / 1000.0))
        low = poisson_rate("crank_dropouts_per_1000rev", lost, 0, turns, Provenance(), []).low
        assert isinstance(low, float)
        return low > 0.5

    often(detected, precision.count(0.5, turns), 400)


@pytest.mark.parametrize(("period_s", "seconds"), [(0.5, 60.0), (2.0, 120.0)])
def test_hunting_of_the_stated_amplitude_is_detected(period_s: float, seconds: float) -> None:
    size = precision.hunting(6.0, period_s, seconds, 60.0, (swing.LOW_HZ, swing.HIGH_HZ), swing.SIGNIFICANT)

    def detected(amplitude: float, seed: int) -> bool:
        random = np.random.default_rng(seed)
        t_s = np.arange(0.0, seconds, period_s) + random.uniform(0.0, 0.1 * period_s, int(seconds / period_s))
        frequency = random.uniform(0.3, min(1.5, 0.4 / period_s)) if period_s < 1.0 else random.uniform(0.12, 0.22)
        value = random.normal(0.0, 6.0, len(t_s)) + amplitude * np.sin(
            2.0 * np.pi * (frequency * t_s + random.uniform())
        )
        found = swing.strongest_swing(swing.pieces_of([swing.Stretch(t_s, value)]))
        return found.chance <= swing.SIGNIFICANT

    often(detected, size, 20)


def test_a_rail_error_of_the_stated_size_is_detected() -> None:
    t_s = 2.0 * np.arange(20.0)
    ones = np.ones((20, 1))
    size = float(precision.joint(t_s, ones, 2.0, np.array([np.inf]), np.array([0.5]))[0])

    def detected(value: float, seed: int) -> bool:
        random = np.random.default_rng(500 + seed)
        y = value + random.normal(0.0, 0.5) + random.normal(0.0, 2.0, 20)
        fit = decompose(y, t_s, [(1.0, ones)], np.array([np.inf]))
        half = np.hypot(fit.quantile() * fit.at(np.ones(1))[1], 1.96 * 0.5)
        return bool(abs(fit.value[0]) > half)

    often(detected, size, 16)


def test_a_weak_cylinder_of_the_stated_size_is_detected() -> None:
    engine = cylinders.Idle(4, 58, 800.0, 200, "compression", 0.08)
    size = cylinders.smallest(engine, 0.012)

    def detected(lacks: float, seed: int) -> bool:
        share, half, _ = cylinders.read(engine, lacks, np.random.default_rng(900 + seed), 0.012)
        return share + half < 0.0

    often(detected, size, 20)


@pytest.mark.parametrize("z", [4, 6])
def test_a_loss_while_cranking_of_the_stated_size_is_detected(z: int) -> None:
    """On a crank of its own, that leaks until its exact speed shows the loss; teeth off by the usual amount."""
    (size,) = [one.value for one in plan(["cylinder_compression_low"]).smallest if one.measure == LOSS]
    engine = Engine(z=z, litres=0.5, inertia=0.09 * z, friction=8.0 * z, starter=65.0 * z)

    def cranked(leak: float, seed: int) -> Recording:
        first = np.r_[leak, np.zeros(z - 1)]
        return run(engine, cycles=14, rpm=220.0, crank=True, leak=first, pitch_deg=0.03, runout=0.0005, seed=seed)

    leaks = np.array([0.0, 0.03, 0.06, 0.1, 0.15])
    lost = [-100.0 * made.net[0] / made.dips.max() for made in (cranked(leak, 0) for leak in leaks)]
    assert lost[-1] > size

    def detected(true: float, seed: int) -> bool:
        held = crank_record(engine, cranked(float(np.interp(true, lost, leaks)), 10 + seed))
        (found,) = [m for m in measure_cylinders(held, read(held)) if isinstance(m, Measure) and m.name == LOSS]
        assert isinstance(found.low, list)
        return found.low[0] > 0.0

    often(detected, size, 16)


def test_a_wheel_too_coarse_for_the_cylinders_shows_none() -> None:
    assert np.isinf(cylinders.smallest(cylinders.Idle(8, 12, 800.0, 200, "compression", 0.08), 0.012))


def test_the_mean_of_few_readings_is_detected() -> None:
    size = precision.level(2.0, 8.0, 0.0)

    def detected(value: float, seed: int) -> bool:
        x = np.random.default_rng(seed).normal(value, 2.0, 8)
        return bool(abs(x.mean()) > 2.3646 * x.std(ddof=1) / np.sqrt(8.0))  # t of 7 degrees of freedom, 97.5 % (tables)

    often(detected, size, 400)


def test_a_growth_of_scatter_is_told() -> None:
    """The scatter of a standard deviation against numpy: the stated growth is 2.8 of its standard errors."""
    random = np.random.default_rng(3)
    seen = random.normal(0.0, 6.0, (4000, 100)).std(axis=1, ddof=1)
    assert precision.spread(6.0, 100.0, 0.0) == pytest.approx(2.8016 * seen.std(), rel=0.05)


def test_lag_is_told_by_steps() -> None:
    """The bound against the fit of an exponential to simulated steps (scipy is not needed: one parameter, a scan)."""
    random = np.random.default_rng(4)
    tau, period_s, moves, step, sd = 1.0, 0.5, 6, 3.0, 0.3
    grid = np.linspace(0.3, 2.5, 221)
    found = []
    for _ in range(150):
        t = np.concatenate([np.arange(random.uniform(0, period_s), 10.0, period_s) for _ in range(moves)])
        y = step * np.exp(-t / tau) + random.normal(0.0, sd, len(t))
        found.append(grid[np.argmin([np.sum((y - step * np.exp(-t / g)) ** 2) for g in grid])])
    assert np.std(found) == pytest.approx(2.0 * sd / step * np.sqrt(period_s * tau / moves), rel=0.2)


def test_one_speed_does_not_tell_a_delay() -> None:
    t_s, columns = precision.rows([(1500.0, 30.0, 300.0)], 4.0)
    assert np.isinf(precision.joint(t_s, columns, 0.3, PRIOR, FLOOR)[1])


def test_a_swing_folds() -> None:
    assert schedule.seeming_hz(6.67, 0.25) == pytest.approx(1.33, abs=0.01)


def test_every_sign_of_a_fault_has_a_step_of_the_drive() -> None:
    steps = plan_files.load().manoeuvre
    signs = {expect.measure for fault in faults.load().faults.values() for expect in fault.expect}
    assert [sign for sign in signs if not any(plan_files.named(sign, step) for step in steps)] == []


def test_a_slower_interface_never_shows_more(everything: dict[str, Plan]) -> None:
    """But for the few draws by which the joint regression is judged."""
    for a, b in zip(everything["can"].smallest, everything["serial"].smallest, strict=True):
        assert b.value is None or (a.value is not None and a.value <= b.value * 1.15), a.measure


def test_a_knowledge_folder_changes_the_plan(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_text(
        "[noise.running_voltage_v]\nfixed = 0.5\n[pid]\noil_temperature = 0x5C\n", "utf-8"
    )
    ours = {one.measure: one.value for one in plan(["charging_voltage_low"], None, "can", None, (tmp_path,)).smallest}
    plain = {one.measure: one.value for one in plan(["charging_voltage_low"], None, "can").smallest}
    assert ours["running_voltage_v"] is not None
    assert plain["running_voltage_v"] is not None
    assert ours["running_voltage_v"] > 3.0 * plain["running_voltage_v"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[pid]\nengine_sped = 12\n", "did you mean engine_speed"),
        ("[noise.rail_error_percent]\nformula = 'guess'\n", "write one of"),
        ("[needs]\nrail_error = ['engine_speed']\n", "rail_error"),
        ("[nois]\n", "nois"),
    ],
)
def test_a_wrong_plan_file_is_named(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "plan.toml").write_text(text, "utf-8")
    with pytest.raises(KnowledgeError, match=said):
        plan_files.load((tmp_path,))
    result = CliRunner().invoke(application(), ["knowledge", "check", str(tmp_path)])
    assert "plan.toml" in result.output + str(result.exception)


def test_every_main_sign_is_told_by_one_step_alone() -> None:
    data = plan_files.load()
    for fault in faults.load().faults.values():
        signs = [expect.measure for expect in fault.expect if expect.main]
        step = plan_files.shortest(signs, data)
        assert step is not None, fault.id
        assert any(plan_files.named(sign, step) for sign in signs), fault.id


def test_a_record_of_nothing_gets_the_shortest_recording_that_shows_each_fault() -> None:
    found = ranking.rank(record("training_rail_four"), [], [], KNOWN)
    assert set(found.hints) == set(found.blind)
    assert "load" not in found.hints["thermostat_stuck_open"]
    assert "crank and cam sensor tapped" in found.hints["cam_signal_dropout"]
    assert "accelerate" in found.hints["rail_pressure_low"]


def test_small_faults_are_shown_less_often_than_usual_ones() -> None:
    """A reading of middling width: of the fifth of the sizes just past the limit fewer are shown than of all."""
    for fault, (engine, sizes) in FAULTS.items():
        found = ranking.rank(record(engine), measures(sizes[0]), [], KNOWN)
        one = next(entry for entry in found.faults if entry.fault == fault)
        assert one.power is not None
        if fault in ("crank_signal_inverted", "pump_key_reversed"):  # there or not, never small (by definition)
            assert one.power_small is None
            continue
        assert one.power_small is not None, fault
        assert one.power_small <= one.power + 0.1, fault


def test_a_share_of_one_instant_is_none() -> None:
    """One reading tells no share at all; of many, the share found is the first whose interval leaves zero."""
    assert precision.share(1.0) == np.inf
    for n in (5.0, 50.0, 2000.0):
        p = precision.share(n)
        assert p - 2.801585 * np.sqrt(p * (1.0 - p) / n) - 1.0 / n == pytest.approx(0.0, abs=2e-4)


@pytest.mark.parametrize("rate", [0.0, -1.0, float("nan"), float("inf"), 1e9])
def test_a_rate_that_no_interface_reaches_is_refused(rate: float) -> None:
    with pytest.raises(UsageError, match="above 0 and at most 10000"):
        plan(["rail_leakdown"], "training_rail_four", requests_per_second=rate)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[slow]\ncoolant_temperature = 0\n", "line 2: slow.coolant_temperature 0 must be more than 0"),
        ("[noise.rail_swing_percent]\nsize = 0\n", "line 2: noise.rail_swing_percent.size 0 must be more than 0"),
        ("[noise.rail_swing_percent]\nfixed = -1\n", "line 2: noise.rail_swing_percent.fixed -1 must not be less"),
        (
            '[[interface]]\nid = "serial"\ntitle = ""\nsource = ""\nrequests_per_second = 4\nvalues_per_request = 0\n',
            "line 6: interface[1].values_per_request 0 must be more than 0",
        ),
    ],
)
def test_numbers_of_the_plan_that_cannot_be_are_refused(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "plan.toml").write_text(text, "utf-8")
    with pytest.raises(KnowledgeError) as caught:
        plan_files.load((tmp_path,))
    assert said in str(caught.value)


def test_power_uses_the_sharpness_of_the_ranking() -> None:
    engine, sizes = FAULTS["rail_pressure_low"]
    wide = measures(sizes[0])
    profile = profiles.load(engine)[0]
    good = good_engine(KNOWN.catalogue, profile)
    hypotheses = field(KNOWN.catalogue, profile, wide)
    pieces = from_measures(wide, hypotheses, good, 0.5, 1.0)
    suspect = next(s for s in hypotheses.suspects if s.fault.id == "rail_pressure_low")
    shown = [power(suspect, 1e-3, pieces, good, sharpness) for sharpness in (0.0, 0.5, 1.0, 1.5)]
    assert shown[0] == 0.0
    assert shown == sorted(shown)
    assert shown[-1] > shown[0]
