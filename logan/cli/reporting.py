"""What ``logan report`` does."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from logan.cli.recent_work import fitted


def run(
    captures: Sequence[str],
    engine: str | None = None,
    dbc: Sequence[str] = (),
    recent_work: Sequence[str] = (),
    complaint: Sequence[str] = (),
    html: str | Path | None = None,
    json: str | Path | None = None,
    knowledge: Sequence[str] = (),
    quiet: bool = False,
) -> None:
    """Write the page, and the finding as JSON where it has a name; print the finding."""
    from logan.cli.progress import shown
    from logan.knowledge.folders import opened
    from logan.pipeline.analyse import analyse
    from logan.report import files, html_page, json_document, terminal

    page = Path(html) if html is not None else Path(f"{Path(captures[0]).name}.report.html")
    to_screen = files.on_standard_output(json, quiet)
    finding = Path(json) if json is not None and not to_screen else None
    given = [*captures, *dbc, *([engine] if engine else [])]
    files.check_writable(*(path for path in (page, finding) if path is not None), inputs=given)
    with shown(not quiet) as progress:
        analysis = analyse(
            captures,
            engine=engine,
            dbc_files=dbc,
            work=fitted(recent_work),
            complaints=complaint,
            folders=opened(knowledge),
            progress=progress,
        )
        outputs = {page: html_page.render(analysis.record, analysis.finding, analysis.known.measures)}
        document = json_document.text(analysis.record, analysis.finding) if finding is not None or to_screen else ""
        if finding is not None:
            outputs[finding] = document
    files.write_all(outputs)
    if to_screen:
        print(document, end="")
    if not quiet:
        print(terminal.text(analysis.record, analysis.finding))
        print(f"\nReport: {page}")
        if finding is not None:
            print(f"JSON: {finding}")
