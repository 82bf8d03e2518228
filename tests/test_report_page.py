"""The page as text: valid HTML, safe whatever comes in, figures that the chart library accepts, honest geometry."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import html5lib
import msgspec
import numpy as np
import plotly.graph_objects as go
import pytest
import report_sample

from logan.knowledge import limits
from logan.model.capture import Remark
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import Span
from logan.model.finding import Evidence, Finding, NextCheck, Ranking, TwoFaults
from logan.model.measure import Missing
from logan.model.profile import CamWheel, EngineProfile, Limits, Pump
from logan.model.record import Record
from logan.report import balance, chapters_finding, figures, html_page, palette, ring, terminal, timing_plane
from logan.report.text import Interval, Quantity, outside, parts, told

LARGEST_BYTES = 1_500_000


@cache
def sample_page() -> str:
    return made(report_sample.record(), report_sample.finding())


def made(record: Record, finding: Finding) -> str:
    return html_page.page(html_page.build(record, finding, report_sample.CATALOGUE))


def page_data(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.S)
    assert found
    out: dict[str, Any] = json.loads(found.group(1))
    return out


def strict(page: str) -> None:
    html5lib.HTMLParser(strict=True).parse(page)


def empty() -> tuple[Record, Finding]:
    record = report_sample.record()
    bare = Record(
        captures=record.captures[:1],
        channels=replace(record.channels, best={}),
        states=replace(record.states, spans=()),
        profile=EngineProfile(),
    )
    ranking = Ranking(verdict="insufficient_evidence", faults=[], not_explained=1.0, no_fault=0.6, something_else=0.4)
    return bare, Finding(measures=[], missing=[], ranking=ranking)


def test_valid_html_and_small() -> None:
    strict(sample_page())
    assert len(sample_page().encode()) < LARGEST_BYTES


def test_names_of_files_at_the_head_have_room_to_stay_whole() -> None:
    record, finding = empty()
    name = "a_recording_of_a_long_road_test_on_a_cold_day.log.gz"
    page = made(replace(record, captures=(replace(record.captures[0], name=name),)), finding)
    assert f'<div class="long"><dt>Files</dt><dd><bdi>{name}</bdi></dd></div>' in page
    page = made(replace(record, captures=(replace(record.captures[0], name="a.log"),)), finding)
    assert "<div><dt>Files</dt><dd><bdi>a.log</bdi></dd></div>" in page


def test_a_record_with_nothing_still_gives_a_page() -> None:
    page = made(*empty())
    strict(page)
    assert "could not have shown the faults in question" in page
    assert "Nothing could be measured on this record." in page


def test_numpy_numbers_and_a_clock_out_of_its_mind() -> None:
    record = report_sample.record()
    spans = tuple(Span(s.state, np.float64(s.start_s), np.float64(s.end_s)) for s in record.states.spans)
    captures = tuple(replace(capture, start=1e30) for capture in record.captures)
    page = made(replace(record, states=replace(record.states, spans=spans), captures=captures), report_sample.finding())
    strict(page)
    assert "no real date" in page


def test_a_list_that_is_not_by_cylinder_stands_among_the_measures() -> None:
    finding = report_sample.finding()
    edges = msgspec.structs.replace(
        finding.measures[2], name="cam_edge_error_deg", value=[0.25, 0.75], low=[0.0, 0.5], high=[0.5, 1.0]
    )
    page = made(report_sample.record(), msgspec.structs.replace(finding, measures=[edges]))
    assert "Cam edge error deg, 2" in page
    assert "0.75°" in page
    assert "Cylinders side by side" not in page


def test_nothing_set_aside_is_kept_silent() -> None:
    record, finding = report_sample.record(), report_sample.finding()
    speed = replace(record.channels.best["engine_speed"], invalid={"not available": 17, "out of range": 3})
    noted = msgspec.structs.replace(finding.measures[0], notes=["only two idle phases"])
    channels = replace(record.channels, best=record.channels.best | {"engine_speed": speed})
    page = made(
        replace(record, channels=channels),
        msgspec.structs.replace(finding, measures=[noted, *finding.measures[1:]]),
    )
    assert re.search(r"Engine speed</bdi>.*out of range</bdi>.*>3</bdi>", page)
    # what a sender calls not available (SAE J1939-71) is no damage: a table of its own
    assert re.search(r"Not available</h3>.*Engine speed</bdi>.*>17</bdi>", page, re.S)
    assert "Idle speed, mean: only two idle phases" in page


def test_render_takes_the_catalogue_that_ships(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(html_page.measures, "load", lambda: report_sample.CATALOGUE)
    assert html_page.render(report_sample.record(), report_sample.finding()) == sample_page()


HOSTILE = (
    "<script>alert(1)</script>",
    "</script><img src=x onerror=alert(1)>",
    "\"' onmouseover='alert(1)",
    "\u202egnp.exe\u2066",
    "{{ 7 * 7 }}{% raw %}",
    "a\x00b\x1b[2J\ud800\ufffe\u2028",
    "long" * 5_000,
)


@pytest.mark.parametrize("text", HOSTILE, ids=lambda t: repr(t[:12]))
def test_text_from_outside_stays_text(text: str) -> None:
    page = made(hostile_record(text), hostile_finding(text))
    strict(page)
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    scripts = tree.findall(".//script")
    assert len(scripts) == len(html5lib.parse(sample_page(), namespaceHTMLElements=False).findall(".//script"))
    assert not tree.findall(".//img")
    handlers = [name for element in tree.iter() for name in element.attrib if str(name).startswith("on")]
    assert not handlers
    visible = "".join(tree.find("body").itertext())
    assert not any(c in visible for c in "\u202e\u2066\x00\x1b\u2028")
    assert outside(text)[:40] in visible
    assert len(page.encode()) < LARGEST_BYTES


def hostile_record(text: str) -> Record:
    record = report_sample.record()
    capture = replace(record.captures[0], name=text, path=text, format=text, metadata={text: text})
    said = record.vehicle
    vehicle = msgspec.structs.replace(
        said,
        vin=text,
        ecus=[text],
        calibration_ids=[text],
        cvns=[text],
        ecu_names={text: text},
        readiness={text: text},
        codes=[msgspec.structs.replace(said.codes[0], code=text, status=text, ecu=text, title=text)],
        freeze_frames=[msgspec.structs.replace(said.freeze_frames[0], code=text, values={text: (1.0, text)})],
        monitor_tests=[msgspec.structs.replace(said.monitor_tests[0], name=text, unit=text)],
        refusals=[msgspec.structs.replace(said.refusals[0], ecu=text, meaning=text)],
    )
    return replace(
        record,
        captures=(capture,),
        vehicle=vehicle,
        profile=msgspec.structs.replace(record.profile, name=text, channels={text: text}),
        profile_source=text,
        assumed=(text,),
        remarks=(Remark(text, text, 2, (text,), text),),
        work=(text,),
        complaints=(text,),
        states=replace(record.states, spans=(replace(record.states.spans[0], state=text),), assumed=(text,)),
    )


def hostile_finding(text: str) -> Finding:
    finding = report_sample.finding()
    piece = Evidence(kind="measure", name=text, observed=text, expected=text, weight=1.0, text=text, group=text)
    neutral = msgspec.structs.replace(piece, weight=0.0)
    check = NextCheck(text=text, minutes=5, tools=[text], outcomes=[text], cautions=[text])
    fault = msgspec.structs.replace(
        finding.ranking.faults[0],
        fault=text,
        title=text,
        evidence=[piece, neutral],
        next_checks=[check],
        cautions=[text],
    )
    ranking = msgspec.structs.replace(
        finding.ranking, faults=[fault, *finding.ranking.faults[1:]], blind={text: text}, sentence=text
    )
    measure = msgspec.structs.replace(finding.measures[0], name=text, unit=text)
    missing = [Missing(measure=text, why=text, capture_hint=text)]
    return Finding(measures=[measure, *finding.measures], missing=missing, ranking=ranking)


def test_policy_allows_these_two_scripts_and_no_other() -> None:
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', sample_page())
    assert policy
    allowed = set(re.findall(r"sha256-([A-Za-z0-9+/=]+)", policy.group(1).replace("&#43;", "+")))
    script = sample_page().rsplit("<script>", 1)[1].split("</script>", 1)[0]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert digest in allowed
    assert len(allowed) == 2
    assert "script-src 'unsafe" not in policy.group(1)
    assert "default-src &#39;none&#39;" in policy.group(1)


def test_no_address_of_another_machine_is_loaded() -> None:
    without_bundle = re.sub(r'id="plotter">[^<]*<', "", sample_page())
    assert not re.search(r"(src|href)\s*=\s*[\"'](?!#)", without_bundle)
    assert not re.search(r"https?:", without_bundle)


def test_figures_are_what_the_chart_library_takes() -> None:
    data = page_data(sample_page())
    assert {"timing-plane", "plot-speed", "plot-timing", "plot-temperature"} <= set(data["figures"])
    for figure in data["figures"].values():
        assert len(go.Figure(figure).data)
    strip = go.Figure(layout={"shapes": data["strip"]}).layout.shapes
    assert len(strip) == len(report_sample.SPANS) + 1  # and one trouble code


def test_the_longest_drive_with_every_channel_stays_small() -> None:
    record = report_sample.record()
    random = np.random.default_rng(1)
    t_s = np.arange(0.0, 7200.0, 0.1)
    every = {
        name: Channel(name, panel.unit, t_s, 1234.5 + random.normal(size=len(t_s)))
        for panel in figures.PANELS
        for name, _ in panel.channels
    }
    spans = tuple(Span(("cruise", "pull")[k % 2], float(k), k + 1.0) for k in range(7200))
    page = made(
        replace(record, channels=ChannelSet(every), states=replace(record.states, spans=spans)), report_sample.finding()
    )
    assert len(page.encode()) < LARGEST_BYTES
    assert "The 6800 shortest stretches are not drawn" in page


def test_no_heavy_library_is_loaded() -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests'); from logan.report import html_page, json_document, terminal, files;"
        "print(sorted({'plotly', 'pandas', 'cantools', 'can', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_headings_go_down_one_step_at_a_time() -> None:
    levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", sample_page())]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


# ---- the timing plane: reference angles as contract section 3 gives them ----


def test_reference_lines_stand_at_the_key_steps_and_the_reversed_key() -> None:
    record = report_sample.record()
    figure = timing_plane.figure(record)
    assert figure is not None
    lines = {round(s["y0"], 6): s["line"].get("dash") for s in figure["layout"]["shapes"] if s["type"] == "line"}
    assert lines[-6.0] == "dash"  # -4 * 1.5 pump degrees
    assert lines[0.0] is None
    assert {-1.0, -2.0, -3.0, 1.0} <= set(lines)  # 2 * n * 0.5 pump degrees
    band = next(s for s in figure["layout"]["shapes"] if s["type"] == "rect")
    assert (band["y0"], band["y1"]) == (-1.0, 1.0)
    names = {note["text"]: note["y"] for note in figure["layout"]["annotations"]}
    assert names["key reversed,<br>−6 key steps"] == -6.0  # the same angle: both are named, below one another
    assert names["−2 key steps"] == -2.0


@pytest.mark.parametrize("half_deg", [0.3, 4.74, 12.0])
def test_the_interval_of_the_constant_is_within_the_plane_and_no_two_words_overprint(half_deg: float) -> None:
    """On paper the plane's axis is about 100 px high and a line of words 11 px."""
    static = report_sample.measure("timing_error_static_deg", 0.0, -half_deg, half_deg)
    figure = timing_plane.figure(report_sample.record(), timing_plane.Fit(static, None))
    assert figure is not None
    low, high = figure["layout"]["yaxis"]["range"]
    assert low < -half_deg
    assert high > half_deg
    notes = sorted(figure["layout"]["annotations"], key=lambda note: note["y"])
    px = [(100.0 * note["y"] / (high - low), 11.0 * (1 + note["text"].count("<br>"))) for note in notes]
    for (at, tall), (above, taller) in pairwise(px):
        assert above - at >= 0.5 * (tall + taller)


def test_no_key_no_key_lines() -> None:
    record = replace(report_sample.record(), profile=msgspec.structs.replace(report_sample.PROFILE, pump=Pump()))
    figure = timing_plane.figure(record)
    assert figure is not None
    assert [note["text"] for note in figure["layout"]["annotations"]] == ["as commanded"]


def test_fit_line_falls_by_0_006_deg_per_rpm_and_ms() -> None:
    static = report_sample.measure("timing_error_static_deg", -2.0, -2.5, -1.0)
    delay = report_sample.measure("timing_error_delay_ms", 0.5, 0.4, 0.6)
    figure = timing_plane.figure(report_sample.record(), timing_plane.Fit(static, delay))
    assert figure is not None
    fit = next(trace for trace in figure["data"] if trace["mode"] == "lines")
    assert fit["y"][0] == -2.0
    assert fit["y"][1] == pytest.approx(-2.0 - 0.006 * 0.5 * fit["x"][1], abs=0.01)
    mark = figure["data"][-1]
    assert (mark["error_y"]["arrayminus"], mark["error_y"]["array"]) == ([0.5], [1.0])


def test_points_are_actual_minus_commanded() -> None:
    found = timing_plane.points(report_sample.record())
    assert found is not None
    speed_rpm, error_deg, _ = found
    assert np.median(error_deg + 0.006 * speed_rpm * 0.03) == pytest.approx(-6.0, abs=0.05)
    assert timing_plane.points(empty()[0]) is None


# ---- balance, ring, limits, units, colours ----


def test_balance_bars_point_to_their_side_in_proportion() -> None:
    def rectangle(weight: float) -> tuple[float, float]:
        found = re.search(r'<rect[^>]* x="([\d.]+)%" width="([\d.]+)%"', str(balance.bar(weight, 3.0)))
        assert found
        return float(found.group(1)), float(found.group(2))

    assert rectangle(1.5) == pytest.approx((50.0, 21.0))
    assert rectangle(-1.5) == pytest.approx((29.0, 21.0))
    assert balance.scale(report_sample.ranking().faults[:2]) == 3.0
    assert balance.side(0.001) == "neutral"


def test_ring_edges_stand_where_their_angle_says() -> None:
    cam = CamWheel(edges_deg=[180.0])
    profile = msgspec.structs.replace(report_sample.PROFILE, crank_wheel=None, cam_wheel=cam)
    drawing = str(ring.draw(profile, 180.0, 179.0, 181.0))
    expected = re.search(r'class="expected" x1="([\d.]+)" y1="([\d.]+)"', drawing)
    observed = re.search(r'class="observed" x1="([\d.]+)" y1="([\d.]+)"', drawing)
    assert expected
    assert observed
    middle = ring.SIZE / 2
    assert float(expected.group(1)) > middle  # a quarter of 720 degrees: to the right
    assert float(expected.group(2)) == pytest.approx(middle)
    assert float(observed.group(1)) == pytest.approx(middle)  # a half: at the bottom
    assert float(observed.group(2)) > middle
    assert ring.draw(EngineProfile(), 0.0, 0.0, 0.0) is None
    # the one edge was seen 180 degrees before the mean: on the right as expected; not seen at all: not drawn
    alone = str(ring.draw(profile, 180.0, 179.0, 181.0, [-180.0]))
    seen = re.search(r'class="observed" x1="([\d.]+)" y1="([\d.]+)"', alone)
    assert seen
    assert float(seen.group(2)) == pytest.approx(middle)
    assert 'class="observed"' not in str(ring.draw(profile, 180.0, 179.0, 181.0, [None]))


def test_limits_judge_by_the_whole_interval() -> None:
    about, over, under = limits.Limit("a", "about"), limits.Limit("a", "over"), limits.Limit("a", "under")
    assert limits.judged(about, 1.0, -0.5, 0.5) == "within"
    assert limits.judged(about, 1.0, -6.3, -5.7) == "beyond"
    assert limits.judged(about, 1.0, 0.5, 1.5) == "open"
    assert limits.judged(over, 12.0, 13.0, 15.0) == "beyond"
    assert limits.judged(under, 70.0, 60.0, 69.0) == "beyond"
    assert limits.judged(under, 70.0, 71.0, 75.0) == "within"


def test_every_limit_names_a_key_of_the_profile() -> None:
    profile = msgspec.structs.replace(report_sample.PROFILE, limits=Limits(supply_pressure_min_kpa_gauge=70.0))
    for name, limit in limits.LIMITS.items():
        assert limits.value_of(profile, limit) is not None, name
    assert limits.value_of(EngineProfile(), limits.LIMITS["cam_phase_error_deg"]) is None


def test_numbers_as_people_write_them() -> None:
    assert str(Quantity(-6.02, "deg", 2)) == "−6.02°"
    assert str(Quantity(-0.001, "kPa", 0)) == "0\u00a0kPa"
    assert str(Quantity(None, "kPa", 0)) == "–"
    assert str(Interval(79.5, 86.0, "degC", 1)) == "79.5 to 86.0\u00a0°C"


def luminance(tone: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(tone[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("tones", [palette.LIGHT, palette.DARK], ids=["light", "dark"])
@pytest.mark.parametrize("role", ["ink", "muted", "accent", "against", "fit"])
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_words_have_contrast_enough(tones: dict[str, str], role: str, ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    light, dark = sorted((luminance(tones[role]), luminance(tones[ground])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_both_pages_know_every_colour() -> None:
    assert palette.LIGHT.keys() == palette.DARK.keys()
    assert len(set(palette.LIGHT.values()) | {light for _, light, _ in palette.STATES.values()}) == len(
        palette.to_dark()
    )


# ---- the verdict first, and no suspect without evidence ----


def with_ranking(**changes: Any) -> Finding:
    finding = report_sample.finding()
    return msgspec.structs.replace(finding, ranking=msgspec.structs.replace(finding.ranking, **changes))


def test_the_first_sentence_is_the_headline() -> None:
    finding = with_ranking(sentence="Most likely: a key (98 %). Timing is -6.04 deg. It cannot be told from a delay.")
    page = made(report_sample.record(), finding)
    strict(page)
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    assert "".join(tree.find(".//h1").itertext()) == "Most likely: a key (98\u00a0%)."
    rests = next(node for node in tree.iter("p") if node.get("class") == "rests")
    assert "".join(rests.itertext()) == "Timing is \u22126.04°. It cannot be told from a delay."


def test_a_sentence_is_cut_at_its_quantities() -> None:
    text = "supply 70 to 110 kPa, -0.5 deg at 900 rpm, not run-5 or 0.3.1 or 5 s.log"
    assert parts(text)[1::2] == [Interval(70.0, 110.0, "kPa", 0), Quantity(-0.5, "deg", 1), Quantity(900.0, "rpm", 0)]
    assert told(text).startswith("supply 70 to 110\u00a0kPa, \u22120.5° at 900\u00a0rpm, not run-5 or 0.3.1 or 5 s.log")


def test_quantities_in_sentences_follow_the_unit_switch() -> None:
    page = made(report_sample.record(), with_ranking(sentence="Supply falls to 41 kPa."))
    assert re.search(r'<h1[^>]*>Supply falls to <span class="q" data-value="41.0" data-unit="kPa"', page)


def test_what_is_likely_before_measuring_is_no_suspect() -> None:
    first = msgspec.structs.replace(report_sample.ranking().faults[0], probability=0.3, evidence=[])
    before = with_ranking(verdict="insufficient_evidence", faults=[first], sentence="", blind={})
    assert chapters_finding.suspects(before.ranking) == []
    page = made(report_sample.record(), before)
    strict(page)
    assert "no probability is given" in page
    assert 'class="shares"' not in page
    assert 'class="fault"' not in page


def test_two_faults_at_once_show_what_speaks_for_each() -> None:
    faults = [
        msgspec.structs.replace(
            fault, evidence=[msgspec.structs.replace(fault.evidence[0], weight=2.0, text=f"sign {k}")]
        )
        for k, fault in enumerate(report_sample.ranking().faults[:2])
    ]
    both = TwoFaults(faults=[fault.fault for fault in faults], probability=0.8)
    page = made(report_sample.record(), with_ranking(sentence="Two faults at once.", faults=faults, together=both))
    assert f"For “{faults[0].title}”: sign 0." in page
    assert f"For “{faults[1].title}”: sign 1." in page
    assert page.count("above stands the probability of both") == 2
    shares = re.search(r'<ul class="key">(.*?)</ul>', page, re.DOTALL)
    assert shares is not None
    named = re.findall(r"</span>(.*?) <b>(.*?)</b>", shares[1])
    assert named[0] == (f"both at once: {faults[0].title} and {faults[1].title}", "80 %")
    assert not [words for words, _ in named[1:] if words in (faults[0].title, faults[1].title)], "no either-or"
    record, finding = report_sample.record(), report_sample.finding()
    ranking = msgspec.structs.replace(finding.ranking, sentence="Two faults at once.", faults=faults, together=both)
    told = terminal.text(record, msgspec.structs.replace(finding, ranking=ranking)).splitlines()
    assert [line for line in told if "80 %  both at once:" in line]
    assert not [line for line in told if "%" in line and line.endswith((faults[0].title, faults[1].title))]


def test_a_code_read_twice_stands_once() -> None:
    record = report_sample.record()
    code = record.vehicle.codes[0]
    twice = [code, msgspec.structs.replace(code, status="pending")]
    page = made(replace(record, vehicle=msgspec.structs.replace(record.vehicle, codes=twice)), report_sample.finding())
    assert "P0216 (confirmed, pending)" in page
    assert page.count(">P0216<") == 1


def test_what_only_a_screen_can_do_is_not_printed() -> None:
    assert '<p class="note screen-only">Drag across any plot' in made(report_sample.record(), report_sample.finding())
