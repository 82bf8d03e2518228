"""What a fleet shows that one log cannot: against reference libraries, and how often it is wrong where nothing is."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
import numpy as np
import pytest
import ruptures
import scipy.stats
from fleet_logs import ENGINE, row

from logan.fleet import assess as assessing
from logan.fleet import drifts, peers
from logan.fleet.assess import assess
from logan.knowledge import measures
from logan.model.capture import OTHER_ENGINE
from logan.model.fleet import Fleet, FleetFault, FleetLog, FleetRemark
from logan.report import fleet_page, fleet_text

# measure: middle and spread between vehicles and visits, in its unit
GOOD = {
    "running_voltage_v": (14.2, 0.05),
    "idle_speed_mean_rpm": (800.0, 6.0),
    "timing_error_static_deg": (0.0, 0.2),
    "supply_pressure_min_kpa_gauge": (120.0, 6.0),
    "warmup_plateau_degc": (88.0, 1.0),
    "boost_error_kpa": (0.0, 3.0),
}
Shift = Callable[[int, int, str], float]


def nothing(_vehicle: int, _visit: int, _name: str) -> float:
    return 0.0


def fleet(rng: np.random.Generator, vehicles: int, visits: int, shift: Shift = nothing) -> list[FleetLog]:
    """Rows of good vehicles, with a shift in units of the spread."""
    return [
        row(
            f"van {vehicle:02d}",
            visit,
            {
                name: (middle + spread * (rng.standard_normal() + shift(vehicle, visit, name)), spread)
                for name, (middle, spread) in GOOD.items()
            },
        )
        for vehicle in range(vehicles)
        for visit in range(visits)
    ]


def shown(found: Fleet) -> set[tuple[str, str, str]]:
    out = {("peer", one.vehicle, one.measure) for one in found.peers if one.shown}
    out |= {("trend", one.vehicle, one.trend.measure) for one in found.drifts if one.trend.shown}
    return out | {
        ("step", one.vehicle, one.trend.measure) for one in found.drifts if one.step is not None and one.step.shown
    }


def test_distance_from_peers() -> None:
    """Spread by its definition (Mosteller and Tukey 1977), written out plainly; Student's distribution from scipy."""
    rng = np.random.default_rng(3)
    y, own = np.append(rng.standard_normal(20), 40.0), np.zeros(21)
    centre, spread, z, p = peers.against(y, own, 4)
    others = np.delete(y, 4).tolist()
    middle = float(np.median(others))
    deviation = scipy.stats.median_abs_deviation(others)
    top = bottom = 0.0
    for x in others:
        u = (x - middle) / (9 * deviation)
        if abs(u) < 1:
            top += (x - middle) ** 2 * (1 - u**2) ** 4
            bottom += (1 - u**2) * (1 - 5 * u**2)
    assert centre == middle
    assert spread == pytest.approx(np.sqrt(len(others) * top) / abs(bottom))
    assert spread < 1.5  # the value of 40 does not move it
    assert z == pytest.approx((y[4] - centre) / (spread * np.sqrt(1 + np.pi / 40)))
    assert p == pytest.approx(2 * scipy.stats.t.sf(abs(z), 0.7 * 16))


@pytest.mark.parametrize("count", [8, 12, 30, 100])
def test_alarms_among_peers_where_all_are_alike(count: int) -> None:
    """Of 20,000 vehicles like all others no more than 5, 1 and 0.1 % are given a probability so small."""
    rng = np.random.default_rng(count)
    p = np.array([peers.against(y, np.full(count, 0.01), 0)[3] for y in rng.standard_normal((20_000, count))])
    for level in (0.05, 0.01, 0.001):
        spread = np.sqrt(level * (1 - level) / len(p))
        assert np.mean(p < level) < level + 2.5 * spread
    assert np.mean(p < 0.05) > 0.02  # and it is not simply blind


def test_own_uncertainty_and_spread_of_nothing() -> None:
    y = np.array([5.0, *np.linspace(-1, 1, 11)])
    sure, unsure = np.full(12, 0.1), np.array([3.0, *np.full(11, 0.1)])
    assert peers.against(y, sure, 0)[3] < 0.01 < peers.against(y, unsure, 0)[3]
    flat = np.array([50.0, *np.zeros(11)])  # lost edges: all others lose none at all
    assert peers.against(flat, np.zeros(12), 0, matters=2.0)[3] < 1e-4
    assert peers.against(flat, np.zeros(12), 0)[3] == 1.0  # nothing says what a difference of 50 is worth
    assert peers.against(flat, np.zeros(12), 3, matters=2.0)[2] == 0.0


def test_probability_of_a_step_where_there_is_none() -> None:
    """One place fixed beforehand: no more than 5 % (1 %) of 4,000 series without a step fall under 5 % (1 %)."""
    rng = np.random.default_rng(8)
    p = np.array([drifts.chance(y, np.full(10, 0.1), 5) for y in rng.standard_normal((4000, 10))])
    assert np.mean(p < 0.05) < 0.06
    assert np.mean(p < 0.01) < 0.015
    assert np.mean(p < 0.05) > 0.01


def test_step_where_the_reference_finds_it() -> None:
    rng = np.random.default_rng(5)
    rows = fleet(rng, 1, 14, lambda _v, visit, name: 9.0 * (name == "warmup_plateau_degc" and visit >= 8))
    (found,) = [one for one in assess(rows).drifts if one.trend.measure == "warmup_plateau_degc"]
    assert found.step is not None
    signal = np.array(found.trend.values)
    (start, _) = ruptures.Dynp(model="l2", min_size=2, jump=1).fit(signal).predict(n_bkps=1)
    assert found.step.at == start == 8
    assert found.step.log == "van 00/008"
    assert found.step.shown
    assert found.step.change == pytest.approx(np.median(signal[8:]) - np.median(signal[:8]))


def test_good_fleets_show_next_to_nothing() -> None:
    """Six fleets of 20 good vehicles with 8 visits: at 5 % false discoveries hardly any shows anything."""
    rng = np.random.default_rng(1)
    alarms = [shown(assess(fleet(rng, 20, 8))) for _ in range(6)]
    assert sum(map(bool, alarms)) <= 2  # three or more of six come with a chance of 0.2 % at 5 % each (binomial)


def test_what_is_wrong_is_found_and_named() -> None:
    def wrong(vehicle: int, visit: int, name: str) -> float:
        drifting = -2.0 * visit * (vehicle == 3 and name == "running_voltage_v")
        stepped = 8.0 * (vehicle == 5 and name == "warmup_plateau_degc" and visit >= 5)
        return drifting + stepped + 7.0 * (vehicle == 7 and name == "timing_error_static_deg")

    found = assess(fleet(np.random.default_rng(2), 20, 10, wrong))
    assert ("trend", "van 03", "running_voltage_v") in shown(found)
    assert ("step", "van 05", "warmup_plateau_degc") in shown(found)
    assert ("peer", "van 07", "timing_error_static_deg") in shown(found)
    assert {vehicle for _, vehicle, _ in shown(found)} == {"van 03", "van 05", "van 07"}
    assert [one.urgency for one in found.vehicles] == ["watch"] * 3 + ["none"] * 17
    (outlier,) = [one for one in found.vehicles if one.vehicle == "van 07"]
    assert any("spreads above its peers" in why for why in outlier.why)


def test_an_outlier_that_one_log_does_not_show() -> None:
    """Within its limit of 1 degree, as a single log says, and still the one that does not belong."""
    rows = fleet(np.random.default_rng(4), 30, 1)
    rows[6] = row("van 06", 0, GOOD | {"timing_error_static_deg": (0.98, 0.2)})
    others = [{m.name: m.value for m in one.measures}["timing_error_static_deg"] for one in rows]
    assert max(map(abs, others)) < 1.0
    assert shown(assess(rows)) == {("peer", "van 06", "timing_error_static_deg")}


def test_false_discoveries_over_the_whole_fleet() -> None:
    found = assess(fleet(np.random.default_rng(6), 12, 5)).peers
    reference = scipy.stats.false_discovery_control([one.p for one in found], method="bh")
    assert [one.p_adjusted for one in found] == pytest.approx(reference)
    assert len(found) == 12 * len(GOOD)


def test_what_does_not_matter_is_not_shown() -> None:
    """Spreads far below what matters: an outlier by them is none to act on."""
    values = [{"running_voltage_v": (14.2 + 0.0001 * k, 0.0001)} for k in range(12)]
    values[3] = {"running_voltage_v": (14.22, 0.0001)}
    rows = [row(f"van {k}", 0, value) for k, value in enumerate(values)]
    found = assess(rows)
    assert min(one.p_adjusted for one in found.peers) < 0.001
    assert shown(found) == set()


def test_urgency() -> None:
    values = {name: (middle, spread) for name, (middle, spread) in GOOD.items()}
    rows = [
        row("a", 0, values),
        row("b", 0, values, fault="fuel_supply_low"),
        row("c", 0, values, fault="fuel_supply_low"),
        row("c", 1, values),
        row("d", 0, values | {"running_voltage_v": (12.0, 0.1)}),
        msgspec.structs.replace(row("e", 0, values), verdict="insufficient_evidence"),
        msgspec.structs.replace(row("f", 0, values), error="torn", log="torn", trouble="capture"),
        msgspec.structs.replace(row("b", 0, values, fault="boost_leak"), log="copy", copy_of="b/000"),
        msgspec.structs.replace(row("g", 0, values), vehicle=None, vehicle_from=""),
    ]
    found = assess(rows)
    assert {one.vehicle: one.urgency for one in found.vehicles} == {
        "a": "none", "b": "fault", "c": "watch", "d": "watch", "e": "cannot_tell", "g/000": "none",
    }  # fmt: skip
    why = {one.vehicle: one.why for one in found.vehicles}
    assert why["c"] == ["c/000 supported “fuel supply low”: repaired since, or it comes and goes"]
    assert why["d"] == [f"{measures.load()['running_voltage_v'].title} is beyond its limit"]
    assert [one.log for one in found.bad] == ["torn"]
    assert [one.log for one in found.copies] == ["copy"]
    assert any("do not say which vehicle" in remark for remark in found.remarks)
    assert found.vehicles[0].fault == "fuel_supply_low"


def test_one_vin_in_folders_of_its_own_is_said() -> None:
    """A module moved from one vehicle to another takes the VIN with it (common practice, no source)."""
    one = [msgspec.structs.replace(row(f"van_{k}", 0, {}), vehicle="V1N", vehicle_from="vin") for k in range(2)]
    other = msgspec.structs.replace(row("van_1", 1, {}), vehicle="0THER", vehicle_from="vin")
    (said,) = (remark for remark in assess(one).remarks if "several folders" in remark)
    assert "V1N (van_0, van_1)" in said
    assert not any("several folders" in remark for remark in assess([*one, other]).remarks), "folders by date, say"


def test_drives_that_overlap_are_no_visits_one_after_the_other() -> None:
    """One vehicle cannot be on two drives at once; that is arithmetic, as are the times below."""
    falls = [row("a", visit, {"running_voltage_v": (14.6 - 0.2 * visit, 0.02)}) for visit in range(8)]
    falls = [msgspec.structs.replace(one, duration_s=600.0) for one in falls]
    assert ("trend", "a", "running_voltage_v") in shown(assess(falls))
    at_once = [msgspec.structs.replace(one, start=1.7e9 + 30.0 * k) for k, one in enumerate(falls)]
    apart = [msgspec.structs.replace(row("b", k, {}), start=1.7e9 + 600.0 * k, duration_s=600.5) for k in range(3)]
    found = assess([*at_once, *apart])
    assert found.drifts == []
    (said,) = (remark for remark in found.remarks if "overlap in time" in remark)
    assert "which cannot be (1): 8 drives of a (a/000 and a/001, say)" in said
    assert "of b " not in said, "parts of one recording follow one another, to the second"
    assert {one.vehicle: len(one.overlapping) for one in found.vehicles} == {"a": 8, "b": 0}
    two = [*falls[:6], msgspec.structs.replace(falls[6], start=(falls[7].start or 0.0) - 599.0 + 1.5), falls[7]]
    assert len(assess(two).drifts[0].logs) == 6, "the two that overlap are left out, the others are followed"
    two[6] = msgspec.structs.replace(two[6], start=(falls[7].start or 0.0) - 599.0)
    assert len(assess(two).drifts[0].logs) == 8


def test_of_drives_that_overlap_none_is_later_and_the_gravest_counts() -> None:
    faulty = msgspec.structs.replace(row("a", 0, {}, fault="fuel_supply_low"), start=1.7e9, duration_s=60.0)
    good = msgspec.structs.replace(row("a", 1, {}), start=1.7e9 + 30.0, duration_s=60.0)
    (found,) = assess([faulty, good]).vehicles
    assert (found.urgency, found.latest) == ("fault", "a/000")
    assert not any("repaired since" in why for why in found.why)
    assert any("none of them is known to be the latest" in why for why in found.why)
    later = msgspec.structs.replace(good, log="a/002", start=1.7e9 + 9000.0)
    (found,) = assess([faulty, good, later]).vehicles
    assert (found.urgency, found.latest) == ("watch", "a/002")
    assert any("repaired since" in why for why in found.why)


def test_folders_said_to_be_vehicles_are_held_against_the_vin() -> None:
    def log(folder: str, vin: str, visit: int) -> FleetLog:
        return msgspec.structs.replace(row(folder, visit, {}), vehicle=vin, vehicle_from="vin", folder=folder)

    one = [log("van_0", "V1N", 0), log("van_1", "V1N", 1), log("van_1", "0THER", 2), log("van_2", "TH1RD", 3)]
    (said,) = (remark for remark in assess(one).remarks if "disagree" in remark)
    assert "disagree on the vehicle (2): V1N lies in 2 folders (van_0, van_1)" in said
    assert "the folder van_1 holds 2 VINs (0THER, V1N)" in said
    assert "van_2" not in said
    assert not any("disagree" in remark for remark in assess([one[0], one[3]]).remarks)
    assert not any("disagree" in r for r in assess([msgspec.structs.replace(x, folder="") for x in one]).remarks)


def test_nothing_found_says_what_could_not_have_been_found() -> None:
    faults = [FleetFault(fault=f"f{k}", title=f"F {k}", probability=0.01) for k in range(4)]
    rows = [
        msgspec.structs.replace(row(name, 0, {}), faults=faults, blind=blind)
        for name, blind in (("a", []), ("b", ["f1"]), ("c", ["f1", "f2", "f3"]), ("d", None))
    ]
    found = assess(rows)
    page = fleet_page.render(found, measures.load())
    assert "Nothing found on 4, where 1 of the latest drives could not have shown half of the known faults" in page
    assert "or more: a, b (1 of 4), c (3 of 4), d." in page
    assert "half of the known faults or more: 1." in fleet_text.terminal(found)
    whole = fleet_page.render(assess(rows[:1]), measures.load())
    assert "Nothing found on 1: a." in whole
    assert "could not have shown" not in whole


def test_a_record_of_another_engine_is_not_judged_by_the_profile_s_limits() -> None:
    falls = [row("a", visit, {"running_voltage_v": (13.9 - 0.4 * visit, 0.05)}) for visit in range(6)]
    remark = FleetRemark(kind=OTHER_ENGINE, text="the profile is of another engine", count=1)
    told = [*falls[:-1], msgspec.structs.replace(falls[-1], remarks=[remark])]
    own, other = assess(falls), assess(told)
    assert any("beyond its limit" in text for text in own.vehicles[0].why)
    assert not any("limit" in text for text in other.vehicles[0].why)
    assert remark.text in other.vehicles[0].why
    assert all(one.limit is not None for one in own.drifts)
    assert all(one.limit is None for one in other.drifts)
    assert len(own.drifts) == len(other.drifts) == 1


def test_family() -> None:
    named = row("x", 0, {})
    replace = msgspec.structs.replace
    assert assessing.family(named) == named.engine
    unnamed = replace(named, engine_source=assessing.NOT_NAMED, vehicle="00TRNR6X3M0000017", vehicle_from="vin")
    assert assessing.family(unnamed) == "VIN 00TRNR6X…"
    assert assessing.family(replace(unnamed, vehicle_from="folder")) == ""
    assert named.engine_source == ENGINE


def test_visits_without_clocks_stand_in_the_order_of_their_names() -> None:
    rows = [msgspec.structs.replace(row("v", k, {}), start=None) for k in (2, 0, 1)]
    ordered, at, per = drifts.in_order(rows)
    assert [one.log for one in ordered] == ["v/000", "v/001", "v/002"]
    assert (at, per) == ([1.0, 2.0, 3.0], "visit")
    named = [msgspec.structs.replace(one, log=f"v/drive{k}") for one, k in zip(rows, (10, 2, 1), strict=True)]
    assert [one.log for one in drifts.in_order(named)[0]] == ["v/drive1", "v/drive2", "v/drive10"]
    ordered, at, per = drifts.in_order([row("v", k, {}) for k in (2, 0, 1)])
    assert ([one.log for one in ordered], at, per) == (["v/000", "v/001", "v/002"], [0.0, 10.0, 20.0], "day")


@pytest.mark.parametrize("count", [1, 2])
def test_a_fleet_of_one_is_no_plural(count: int) -> None:
    """English: one vehicle, two vehicles."""
    rows = [row(f"van {k}", 0, {"running_voltage_v": (9.0, 0.05)}) for k in range(count)]
    fault = [FleetFault(fault="fuel_supply_low", title="Fuel supply low", probability=0.9)]
    words = {1: "the one vehicle", 2: "2 vehicles"}[count]
    told = []
    for some in (
        rows,
        [msgspec.structs.replace(one, verdict="fault_supported", faults=fault) for one in rows],
        [msgspec.structs.replace(one, measures=[]) for one in rows],
        [msgspec.structs.replace(one, measures=[], verdict="insufficient_evidence") for one in rows],
    ):
        found = assess(some)
        told.append(fleet_page.sentence(found))
        page = fleet_page.render(found, measures.load()) + fleet_text.terminal(found)
        assert "1 vehicles" not in page
        assert "of 1 vehicle" not in page
        assert f"<title>{count} vehicle{'s' * (count > 1)}: " in page
    assert told == [
        {1: f"No fault is likely on {words}; it should be watched.",
         2: f"No fault is likely on any of {words}; 2 should be watched."}[count],
        f"A fault is likely on {words}." if count == 1 else f"A fault is likely on 2 of {words}.",
        f"Nothing was found on {words}.",
        f"The logs of {words} hold too little to tell.",
    ]  # fmt: skip


def test_the_fleet_in_one_sentence_and_vehicles_by_number() -> None:
    def wrong(vehicle: int, _visit: int, name: str) -> float:
        return 9.0 * (vehicle == 10 and name == "running_voltage_v")

    found = assess(fleet(np.random.default_rng(4), 12, 1, wrong))
    assert fleet_page.sentence(found) == "No fault is likely on any of 12 vehicles; 1 should be watched."
    assert [one.vehicle for one in found.vehicles] == ["van 10", *(f"van {k:02d}" for k in (*range(10), 11))]
    names = [f"van {k}" for k in range(12)]
    rows = [row(name, 0, {"running_voltage_v": (14.2, 0.05)}) for name in reversed(names)]
    assert [one.vehicle for one in assess(rows).vehicles] == names  # van 2 stands before van 10
    silent = [msgspec.structs.replace(one, verdict="insufficient_evidence") for one in rows]
    assert fleet_page.sentence(assess(silent)) == "The logs of 12 vehicles hold too little to tell."
