"""The data files of ranking: complete by the contract, consistent with each other, every claim with its source."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import get_args

import pytest

from logan.errors import KnowledgeError
from logan.knowledge import faults, measures, profiles, texts
from logan.knowledge.faults import STAGES, Catalogue, Fault
from logan.model.profile import EngineProfile, Injection
from logan.pipeline.analyse import analyse

CATALOGUE: Catalogue = faults.load()
FAULTS = list(CATALOGUE.faults.values())
INFO = measures.load()
SAMPLES = Path(__file__).parent.parent / "sample_logs"

# contract, section 7
IDS = [
    "crank_signal_dropout", "crank_signal_inverted", "crank_wheel_runout", "cam_signal_dropout",
    "cam_phase_offset", "cam_signal_delay", "pump_key_wrong", "pump_key_reversed", "pump_timing_drift",
    "timing_actuator_sticking", "fuel_supply_low", "rail_pressure_low", "rail_pressure_unstable",
    "rail_leakdown", "cylinder_fuel_low", "cylinder_compression_low", "idle_hunting", "pedal_tracks_disagree",
    "thermostat_stuck_open", "boost_leak", "charging_voltage_low", "mixture_lean", "mixture_rich",
]  # fmt: skip
# contract, section 1
WORK = [
    "pump", "pump_key", "crank_sensor", "cam_sensor", "tone_wheel", "timing_gears", "injectors", "head",
    "lift_pump", "pedal", "none",
]  # fmt: skip
COMPLAINTS = [
    "hard_start", "no_start", "rough_idle", "surging", "low_power", "smoke_white", "smoke_black", "knock",
    "stall", "high_use", "cold", "warm", "load", "always",
]  # fmt: skip


def test_every_fault_of_the_contract_is_there() -> None:
    assert set(IDS) <= set(CATALOGUE.faults)


def test_words_are_those_of_the_contract() -> None:
    assert list(texts.work()) == WORK
    assert list(texts.complaints()) == COMPLAINTS
    assert all(word.rate is not None and 0 < word.rate < 1 for word in texts.complaints().values())


def test_every_measure_is_in_the_catalogue_of_measures() -> None:
    assert set(CATALOGUE.good) <= set(INFO)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.id)
class TestFault:
    def test_words_it_uses_exist(self, fault: Fault) -> None:
        assert set(fault.work) <= set(WORK) - {"none"}
        assert set(fault.complaints) <= set(COMPLAINTS)
        assert all(0 < rate < 1 for rate in fault.complaints.values())
        assert all(1 < factor <= 20 for factor in fault.work.values())
        cautions = [name for check in fault.checks for name in check.cautions]
        assert set(cautions) | set(fault.cautions) <= set(texts.cautions())
        assert {name for check in fault.checks for name in check.also} <= set(CATALOGUE.faults) - {fault.id}

    def test_sources_are_given(self, fault: Fault) -> None:
        words = ("judgement", "published", "derived", "common practice", "by definition")
        for source in [e.source for e in fault.expect] + [c.source for c in fault.codes] + [fault.prior_source]:
            assert source.startswith(words), source

    def test_checks_follow_the_trade(self, fault: Fault) -> None:
        assert len(fault.checks) >= 2
        stages = [STAGES.index(check.stage) for check in fault.checks]
        assert stages == sorted(stages)
        for check in fault.checks:
            assert check.minutes > 0
            assert check.cautions
            assert check.confirmed
            assert check.refuted
            if check.stage == "apart":
                assert "engine_off" in check.cautions or "high_pressure_fuel" in check.cautions

    def test_high_pressure_side_is_never_opened_without_its_caution(self, fault: Fault) -> None:
        for check in fault.checks:
            if any(word in check.text.lower() for word in ("injector", "return flow", "leaks around")):
                assert {"high_pressure_fuel", "exhaust_gas"} & set(check.cautions), check.text

    def test_it_is_told_from_its_neighbours(self, fault: Fault) -> None:
        assert len(fault.meaning) > 40
        assert len(fault.told_apart) > 40

    def test_main_sign_lies_outside_the_good_engine(self, fault: Fault) -> None:
        """Middle of each main sign is no value of a good engine, on an engine that has all keys."""
        for name in profiles.names():
            profile = profiles.load(name)[0]
            if not faults.fits(fault, profile):
                continue
            for expect in fault.expect:
                good = CATALOGUE.good[expect.measure].expect
                assert isinstance(good, faults.Within)
                low, high = faults.value_of(good.low, profile), faults.value_of(good.high, profile)
                if expect.main and isinstance(expect, faults.Beyond) and low is not None and high is not None:
                    limit = faults.value_of(expect.limit, profile)
                    assert limit is not None
                    assert limit <= low if expect.side == "below" else limit >= high


@pytest.mark.parametrize("caution", texts.cautions().values(), ids=lambda caution: caution.id)
def test_cautions_say_what_to_do_and_where_it_is_from(caution: texts.Caution) -> None:
    assert len(caution.text) > 40
    assert caution.source


def test_no_code_counts_twice() -> None:
    """A code belongs to one family (patterns with * apart)."""
    codes = [
        code.strip() for family in CATALOGUE.families.values() for entry in family.match for code in entry.split("|")
    ]
    assert len(codes) == len(set(codes))


def test_spark_faults_do_not_fit_a_diesel_and_what_is_unknown_rules_nothing_out() -> None:
    lean, key = CATALOGUE.faults["mixture_lean"], CATALOGUE.faults["pump_key_wrong"]
    assert not faults.fits(lean, EngineProfile(ignition="compression"))
    assert not faults.fits(key, EngineProfile(ignition="compression", injection="common_rail"))
    assert faults.fits(lean, EngineProfile())
    assert faults.fits(key, EngineProfile(ignition="compression"))


@pytest.mark.parametrize("name", ["pump_timing_drift", "timing_actuator_sticking"])
def test_only_an_engine_whose_pump_may_time_the_injection_has_faults_of_its_timing(name: str) -> None:
    """Common practice, no source: with a common rail the injectors are timed, not the pump that feeds it."""
    fault = CATALOGUE.faults[name]
    fit = [i for i in get_args(Injection) if faults.fits(fault, EngineProfile(ignition="compression", injection=i))]
    assert fit == ["rotary_pump", "direct"]
    assert faults.fits(fault, EngineProfile(ignition="compression"))
    assert faults.fits(fault, EngineProfile())
    shipped = [one for one in profiles.names() if faults.fits(fault, profiles.load(one)[0])]
    assert shipped == ["training_rotary_six"]


def test_no_common_rail_is_asked_for_its_pumps_sensor() -> None:
    ranking = analyse([SAMPLES / "healthy_rail_four.log.gz"]).finding.ranking
    assert not {"pump_timing_drift", "timing_actuator_sticking"} & {*ranking.blind, *(f.fault for f in ranking.faults)}
    assert not [hint for hint in ranking.hints.values() if "pump" in hint]


MISTAKES = [
    ('kind = "steps"', 'kind = "stairs"', "expect[1]"),
    ("factor = 2}", "factor = 2, offest = 1}", "did you mean offset"),
    ('key = "pump.key_step_deg"', 'key = "pump.key_stop_deg"', "did you mean pump.key_step_deg"),
    ('measure = "timing_error_static_deg"', 'measure = "timing_error_statik_deg"', "mean timing_error_static_deg?"),
    ("prior = 0.025", "prior = 2.5", "prior 2.5 is not between 0 and 1"),
    ('family = "injection_timing"', 'family = "injection"', "is no family of codes"),
    ('id = "pump_key_wrong"', 'id = "pump_key"', "but the file is called pump_key_wrong.toml"),
    ('stage = "look"', 'stage = "apart"', "are not in the trade's order"),
    ("minutes = 60", 'minutes = "an hour"', "checks[2].minutes must be a number"),
    ("minutes = 60", 'in_record = ["timing"]\nminutes = 60', "timing is not described for a good engine"),
    ("minutes = 60", "minutes = 0", "checks[2].minutes 0 must be more than 0"),
    ("scale = 3", "scale = 0", "scale 0 must be more than 0"),
    ("factor = 2}", "factor = -2}", "step -2 must be more than 0"),
    ("spread = 0.2", "spread = -0.2", "spread -0.2 must be more than 0"),
    ("most = 12", "most = 0", "most 0 is not between 1 and 1000"),
    ("most = 12", "most = 1000000000", "is not between 1 and 1000"),
    ("hard_start = 0.4", "hard_start = 4", "complaints.hard_start 4 is not between 0 and 1"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "mistake", "said"), MISTAKES, ids=[m[1] for m in MISTAKES])
def test_a_mistake_in_a_fault_is_named_with_its_line(tmp_path: Path, right: str, mistake: str, said: str) -> None:
    folder = tmp_path / "faults"
    shutil.copytree(faults.FOLDER, folder)
    path = folder / "pump_key_wrong.toml"
    text = path.read_text("utf-8").replace(right, mistake, 1)
    path.write_text(text, "utf-8")
    with pytest.raises(KnowledgeError) as caught:
        faults.load(folder)
    message = str(caught.value)
    assert message.startswith(f"{path}, line ")
    assert said in message


STANDS_IN = 'stands_in_for = "timing_error_static_deg"'
GOOD_MISTAKES = [
    (STANDS_IN, 'stands_in_for = "timing_error_statik_deg"', "did you mean timing_error_static_deg?"),
    (STANDS_IN, 'stands_in_for = "timing_error_mean_deg"', "no other measure"),
    ("scale = 150", "scale = 0", "good[1].scale 0 must be more than 0"),
    ("high = 0.06", "high = -0.06", "high -0.06 is not above low"),
    ("soft = 0.02", "soft = -0.02", "soft -0.02 must not be less than 0"),
    ("sharpness = 2.5", "sharpness = -1", "sharpness -1 must be more than 0"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "mistake", "said"), GOOD_MISTAKES, ids=[m[1] for m in GOOD_MISTAKES])
def test_a_mistake_in_the_good_engine_is_named_with_its_line(
    tmp_path: Path, right: str, mistake: str, said: str
) -> None:
    folder = tmp_path / "faults"
    shutil.copytree(faults.FOLDER, folder)
    path = folder / "no_fault.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace(right, mistake, 1), "utf-8")
    with pytest.raises(KnowledgeError) as caught:
        faults.load(folder)
    assert str(caught.value).startswith(f"{path}, line {text[: text.index(right)].count(chr(10)) + 1}: ")
    assert said in str(caught.value)


def test_a_workshop_may_let_a_measure_stand_in_for_a_built_in_one(tmp_path: Path) -> None:
    text = (faults.FOLDER / faults.NO_FAULT).with_suffix(".toml").read_text("utf-8")
    entry = "[[good]]" + next(part for part in text.split("[[good]]") if "timing_error_mean_deg" in part)
    (tmp_path / "faults").mkdir()
    (tmp_path / "faults" / "no_fault.toml").write_text(entry, "utf-8")
    assert faults.load(folders=(tmp_path,)).good["timing_error_mean_deg"].stands_in_for == "timing_error_static_deg"


def test_a_fault_is_added_as_one_file(tmp_path: Path) -> None:
    folder = tmp_path / "faults"
    shutil.copytree(faults.FOLDER, folder)
    text = (folder / "boost_leak.toml").read_text("utf-8").replace('id = "boost_leak"', 'id = "cooler_split"')
    (folder / "cooler_split.toml").write_text(text, "utf-8")
    assert "cooler_split" in faults.load(folder).faults


def test_a_folder_without_faults_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="cannot be read"):
        faults.load(tmp_path)
    shutil.copy(faults.FOLDER / "no_fault.toml", tmp_path)
    with pytest.raises(KnowledgeError, match="holds no fault"):
        faults.load(tmp_path)
