"""A road test made up for the tests of the report: a training diesel whose pump key was fitted backwards."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logan.knowledge.measures import MeasureInfo
from logan.model.capture import Capture, Remark, Table
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.finding import Evidence, Finding, NextCheck, RankedFault, Ranking
from logan.model.measure import Measure, Missing, Provenance
from logan.model.profile import CamWheel, CrankWheel, EngineProfile, Idle, Limits, Pump
from logan.model.record import Record
from logan.model.vehicle import FreezeFrame, MonitorTest, Refusal, TroubleCode, Vehicle

PROFILE = EngineProfile(
    name="Training diesel, inline six",
    ignition="compression",
    cylinders=6,
    firing_order=[1, 5, 3, 6, 2, 4],
    injection="rotary_pump",
    crank_wheel=CrankWheel(teeth=60, missing=2, first_edge_deg=84.0),
    cam_wheel=CamWheel(edges_deg=[54.0, 174.0, 294.0, 414.0, 534.0, 654.0, 684.0]),
    pump=Pump(key_offset_deg=1.5, key_step_deg=0.5),
    idle=Idle(target_rpm=800.0),
    limits=Limits(supply_pressure_min_kpa_gauge=70.0),
)

SPANS = (
    ("key_on", 0, 4),
    ("cranking", 4, 6),
    ("run_up", 6, 9),
    ("idle_cold", 9, 60),
    ("idle_warm", 60, 110),
    ("tip_in", 110, 114),
    ("pull", 114, 150),
    ("cruise", 150, 230),
    ("overrun", 230, 238),
    ("cruise", 238, 290),
    ("gap", 290, 300),
    ("pull", 300, 330),
    ("overrun", 330, 345),
    ("idle_warm", 345, 395),
    ("stopped", 395, 402),
)


def info(name: str, unit: str, title: str, group: str, decimals: int = 1) -> MeasureInfo:
    return MeasureInfo(name=name, unit=unit, title=title, meaning="", hint="record it", group=group, decimals=decimals)


CATALOGUE: dict[str, MeasureInfo] = {
    i.name: i
    for i in (
        info("idle_speed_mean_rpm", "rpm", "Idle speed, mean", "idle", 0),
        info("idle_speed_std_rpm", "rpm", "Idle speed, standard deviation", "idle"),
        info("cam_phase_error_deg", "deg", "Cam against crank, fixed part", "phase", 2),
        info("cam_phase_delay_ms", "ms", "Cam against crank, delay", "phase", 3),
        info("timing_error_static_deg", "deg", "Timing error, fixed part", "timing", 2),
        info("timing_error_delay_ms", "ms", "Timing error, delay", "timing", 3),
        info("supply_pressure_min_kpa_gauge", "kPa", "Supply pressure, lowest under load", "pressure", 0),
        info("warmup_plateau_degc", "degC", "Coolant temperature reached", "thermal", 0),
        info("running_voltage_v", "V", "System voltage, running", "electrical", 2),
        info("cylinder_contribution_percent", "%", "Contribution", "cylinders"),
        info("cylinder_compression_percent", "%", "Compression", "cylinders"),
        info("rail_error_percent", "%", "Rail pressure against its command", "pressure"),
        info("boost_error_kpa", "kPa", "Boost against its command", "pressure"),
    )
}


def record() -> Record:
    random = np.random.default_rng(7)
    t_s = np.arange(0.0, 402.0, 0.05)
    t_s = t_s[(t_s < 290) | (t_s > 300)]
    marks = [0, 4, 4.5, 6, 9, 110, 114, 150, 160, 225, 232, 240, 288, 300, 330, 345, 395, 397, 402]
    speeds = [0, 0, 180, 220, 820, 800, 1900, 2600, 1700, 1750, 1500, 1650, 1800, 1400, 2500, 820, 800, 0, 0]
    speed = np.interp(t_s, marks, speeds) + random.normal(0, 6, len(t_s))
    speed = np.clip(speed, 0, None)
    load = np.clip(
        np.interp(
            t_s,
            [0, 9, 110, 114, 150, 152, 229, 231, 238, 240, 300, 302, 330, 332],
            [0, 22, 20, 92, 95, 38, 42, 4, 4, 36, 40, 90, 88, 18],
        )
        + random.normal(0, 1.5, len(t_s)),
        0,
        100,
    )
    commanded = 3.0 + speed / 300.0 + load / 40.0
    running = speed > 400
    actual = commanded - 6.0 - 0.006 * speed * 0.03 + random.normal(0, 0.25, len(t_s))
    coolant = 88.0 - 62.0 * np.exp(-t_s / 120.0)
    slow = slice(None, None, 20)

    def channel(
        name: str, unit: str, value: NDArray[np.float64], rows: slice | NDArray[np.bool_] = slice(None)
    ) -> Channel:
        return Channel(name, unit, t_s[rows], value[rows], source="service 01, control module 7E8", file="drive.log")

    channels = [
        channel("engine_speed", "rpm", speed),
        channel("idle_speed_target", "rpm", np.full(len(t_s), 800.0), slow),
        channel("calculated_load", "%", load),
        channel("accelerator_pedal_d", "%", np.clip(load * 0.9 - 8, 0, 100)),
        channel("vehicle_speed", "km/h", np.interp(t_s, [110, 150, 230, 330, 345], [0, 60, 78, 85, 0]), slow),
        channel("injection_timing_commanded", "deg", commanded, running),
        channel("injection_timing_actual", "deg", actual, running),
        channel("timing_actuator_duty", "%", 44 + load / 5),
        channel("fuel_supply_pressure", "kPa", 118 - 0.2 * load + random.normal(0, 1.0, len(t_s))),
        channel("coolant_temperature", "degC", coolant, slow),
        channel("intake_air_temperature", "degC", 24 + load / 20, slow),
        channel("control_module_voltage", "V", np.where(running, 14.1, 12.3) + random.normal(0, 0.03, len(t_s))),
        channel("intake_manifold_pressure", "kPa", 100 + load * 0.7),
        channel("boost_pressure_commanded", "kPa", 101 + load * 0.72),
    ]
    capture = Capture(
        name="drive.log",
        path="drive.log",
        sha256="3f" * 32,
        format="CAN text log",
        content=Table(()),
        frames=184213,
        rejected=3,
        start=1_772_618_400.0,
        duration_s=401.95,
    )
    waveform = Capture(
        name="sensors.wav",
        path="sensors.wav",
        sha256="a1" * 32,
        format="sensor waveform, WAV",
        content=Table(()),
        frames=2_400_000,
        rejected=0,
        start=None,
        duration_s=60.0,
    )
    return Record(
        captures=(capture, waveform),
        channels=ChannelSet({c.name: c for c in channels}),
        states=DriveStates(
            tuple(Span(s, float(a), float(b)) for s, a, b in SPANS), ("pedal taken as released below 2 %",)
        ),
        profile=PROFILE,
        vehicle=_vehicle(),
        remarks=(
            Remark("bad_line", "line that is no CAN frame", 3, ("line 118", "line 4402", "line 90111"), "drive.log"),
            Remark("gap", "no frame for more than 5 s", 1, ("t = 290.00 s",), "drive.log"),
        ),
        profile_source="shipped profile training_diesel_6",
        assumed=("the profile was chosen because the readiness bits say compression ignition",),
        origin_ns=1_772_618_400_000_000_000,
        work=("pump_key",),
        complaints=("hard_start",),
    )


def _vehicle() -> Vehicle:
    return Vehicle(
        vin="TRA1N1NGD1ESEL006",
        ecus=["7E8"],
        calibration_ids=["TRAINING-CAL-01"],
        cvns=["1A2B3C4D"],
        ecu_names={"7E8": "engine control"},
        ignition="compression",
        readiness={"boost_pressure": "ready", "fuel_system": "ready", "exhaust_gas_sensor": "not ready"},
        mil=True,
        codes=[
            TroubleCode(
                code="P0216", status="confirmed", ecu="7E8", title="Injection timing control circuit", t_s=20.0
            ),
        ],
        freeze_frames=[
            FreezeFrame(
                ecu="7E8",
                number=0,
                code="P0216",
                values={"engine_speed": (1620.0, "rpm"), "coolant_temperature": (81.0, "degC")},
            )
        ],
        monitor_tests=[
            MonitorTest(
                ecu="7E8",
                monitor_id=0x85,
                test_id=1,
                name="boost pressure control",
                value=3.2,
                low=0.0,
                high=15.0,
                unit="kPa",
                passed=True,
            )
        ],
        refusals=[Refusal(ecu="7E8", service=0x22, code=0x31, meaning="request out of range", count=2)],
        services={"01": 5000},
    )


def measure(name: str, value: float, low: float, high: float, n: int = 400, channels: tuple[str, ...] = ()) -> Measure:
    return Measure(
        name=name,
        value=value,
        unit=CATALOGUE[name].unit,
        low=low,
        high=high,
        n=n,
        provenance=Provenance(files=["drive.log"], channels=list(channels), spans_s=[(60.0, 110.0)]),
    )


def finding() -> Finding:
    contribution = Measure(
        name="cylinder_contribution_percent",
        unit="%",
        n=980,
        value=[1.2, -0.8, 2.1, -7.9, 3.3, 2.1],
        low=[-0.8, -2.9, 0.2, -10.2, 1.3, 0.1],
        high=[3.2, 1.3, 4.0, -5.6, 5.3, 4.1],
    )
    compression = Measure(
        name="cylinder_compression_percent",
        unit="%",
        n=9,
        value=[98.0, 97.0, 100.0, 96.5, 99.0, 98.2],
        low=[94.0, 93.0, 96.0, 92.0, 95.0, 94.0],
        high=[101.0, 100.5, 103.0, 100.0, 102.0, 102.0],
    )
    timing = ("injection_timing_actual", "injection_timing_commanded", "engine_speed")
    return Finding(
        measures=[
            measure("idle_speed_mean_rpm", 801.2, 798.0, 804.0),
            measure("idle_speed_std_rpm", 8.2, 7.1, 9.4),
            measure("cam_phase_error_deg", 0.4, -0.6, 1.4),
            measure("cam_phase_delay_ms", 0.004, -0.01, 0.018),
            measure("timing_error_static_deg", -6.02, -6.31, -5.73, channels=timing),
            measure("timing_error_delay_ms", 0.03, 0.004, 0.056, channels=timing),
            measure("supply_pressure_min_kpa_gauge", 98.0, 92.0, 104.0, channels=("fuel_supply_pressure",)),
            measure("warmup_plateau_degc", 83.0, 80.0, 86.0, channels=("coolant_temperature",)),
            measure("running_voltage_v", 14.1, 14.0, 14.2),
            contribution,
            compression,
        ],
        missing=[
            Missing(
                measure="rail_error_percent",
                why="not in the capture: fuel_rail_pressure_actual",
                capture_hint="ask for service 01 PID 6D during a pull",
            ),
            Missing(
                measure="rail_swing_percent",
                why="not in the capture: fuel_rail_pressure_actual",
                capture_hint="ask for service 01 PID 6D during a pull",
            ),
            Missing(
                measure="timing_hysteresis_deg",
                why="the command never came back down slowly",
                capture_hint="drive one slow rise and one slow fall of speed at even load",
            ),
        ],
        ranking=ranking(),
    )


def ranking() -> Ranking:
    manual = "Hold to the service manual for every setting of the pump."
    return Ranking(
        verdict="fault_supported",
        sentence="The injection pump's drive key is most probably fitted backwards (87 %): "
        "timing is 6.0 degrees late at every speed.",
        no_fault=0.004,
        something_else=0.021,
        not_explained=0.025,
        blind={
            "rail_leakdown": "rail pressure was not recorded after the engine stopped",
            "mixture_lean": "the engine is no spark engine",
        },
        faults=[
            RankedFault(
                fault="pump_key_reversed",
                title="Pump drive key fitted backwards",
                probability=0.87,
                power=0.97,
                evidence=[
                    Evidence(
                        kind="measure",
                        name="timing_error_static_deg",
                        observed=-6.02,
                        expected="−6.0° (−4 × 1.5° at the pump)",
                        weight=2.61,
                        text="The timing error that is the same at every speed is where the reversed key puts it",
                    ),
                    Evidence(
                        kind="work",
                        name="pump_key",
                        observed="pump_key",
                        expected=None,
                        weight=0.95,
                        text="The pump key was fitted just before the complaint",
                    ),
                    Evidence(
                        kind="dtc",
                        name="P0216",
                        observed="confirmed",
                        expected="often set",
                        weight=0.42,
                        text="The control module stored a code for injection timing control",
                    ),
                    Evidence(
                        kind="measure",
                        name="timing_error_delay_ms",
                        observed=0.03,
                        expected=0.0,
                        weight=-0.18,
                        text="A small delay that this fault does not explain",
                    ),
                    Evidence(
                        kind="measure",
                        name="timing_hysteresis_deg",
                        observed=None,
                        expected=0.0,
                        weight=0.0,
                        text="Hysteresis of timing was not measured: the command never came back down slowly",
                    ),
                ],
                next_checks=[
                    NextCheck(
                        text="Read the number and the direction of the key at the pump shaft",
                        minutes=45,
                        tools=["inspection mirror", "service manual"],
                        outcomes=[
                            "Arrow points to the engine: the key is fitted right; look for a key of another number",
                            "Arrow points away: the key is reversed; correct it and repeat this drive",
                        ],
                        cautions=["Engine off, key out, battery disconnected before the cover comes off"],
                        gain_bits_per_minute=0.02,
                    ),
                    NextCheck(
                        text="Repeat the drive with a slow rise and a slow fall of speed",
                        minutes=10,
                        outcomes=["Same angle both ways: not the actuator", "Different angles: the actuator sticks"],
                        cautions=["Two people on the road test: one drives, one records"],
                        gain_bits_per_minute=0.05,
                    ),
                ],
                cautions=["Injection lines hold high pressure: never look for leaks with a hand", manual],
            ),
            RankedFault(
                fault="pump_key_wrong",
                title="Pump drive key of another number",
                probability=0.075,
                power=0.95,
                evidence=[
                    Evidence(
                        kind="measure",
                        name="timing_error_static_deg",
                        observed=-6.02,
                        expected="a whole number of 1.0 degree steps",
                        weight=1.75,
                        text="The constant error is a whole number of key steps, but an unusually large one",
                    ),
                    Evidence(
                        kind="work",
                        name="pump_key",
                        observed="pump_key",
                        expected=None,
                        weight=0.6,
                        text="The pump key was fitted just before the complaint",
                    ),
                ],
                next_checks=[
                    NextCheck(
                        text="Read the number and the direction of the key at the pump shaft",
                        minutes=45,
                        gain_bits_per_minute=0.02,
                    )
                ],
                cautions=[manual],
            ),
            RankedFault(
                fault="timing_actuator_sticking",
                title="Timing actuator sticks",
                probability=0.012,
                evidence=[
                    Evidence(
                        kind="measure",
                        name="timing_error_static_deg",
                        observed=-6.02,
                        expected=0.0,
                        weight=-1.1,
                        text="A sticking actuator leaves no constant error",
                    )
                ],
            ),
            RankedFault(
                fault="cylinder_fuel_low",
                title="One cylinder gets too little fuel",
                probability=0.011,
                cylinder=4,
                evidence=[
                    Evidence(
                        kind="measure",
                        name="cylinder_contribution_percent",
                        observed="-7.9 %",
                        expected="under -5 %",
                        weight=0.9,
                        text="Cylinder 4 works less than the others",
                    )
                ],
            ),
            RankedFault(fault="rail_leakdown", title="Rail loses pressure after the stop", probability=0.007),
        ],
    )
