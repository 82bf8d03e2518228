"""Text sessions of a serial adapter: recognised by requests and answers that fit; read in ``serial_text_read``."""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from logan.capture import obd_answers
from logan.capture.can_columns import ABSOLUTE_FROM_NS
from logan.capture.kline_frames import Message, Trouble
from logan.capture.reader import NO, Guess, Reader
from logan.capture.serial_items import (
    FIRST_LINE,
    LENGTH,
    Bad,
    Can,
    Command,
    Item,
    Kline,
    Length,
    Part,
    Plain,
    Status,
    items,
)
from logan.capture.source import Source

_LINES_LOOKED_AT: Final = 400
_LONGEST_LINE: Final = 4096
_LEAST_SHARE: Final = 0.5
_LEAST_ANSWERS: Final = 2
_LEAST_SHARE_ALONE: Final = 0.9
_ALONE: Final = 0.5
"""Score of a session of answers and prompts, below that of one which shows what was asked."""
LINE_END: Final = re.compile(r"\r\n|\r|\n|\\r|\\n")
_ARROW: Final = re.compile(r"(?<!-)-+>|(?<!=)=+>|<-+|<=+|\|")
_TWO_CELLS: Final = re.compile(r"([0-9A-Fa-f ]{2,})[,;\t]([0-9A-Fa-f ]{2,})")
"""A request and its answer in the cells of a table."""
_DIRECTION: Final = re.compile(
    r"\s*(?:(?P<sent>>>+|[-=]+>|{open}(?:tx|sent|send|request|req|out|write|tester|host|command|cmd)\b{end})"
    r"|(?P<got><[-=<]*(?!\s*(?:data|rx))"
    r"|{open}(?:rx|received|recv|response|resp|rsp|res|answer|reply|in|read|ecu|adapter)\b{end}(?!\s*error)))"
    r"\s*(?:[:,;|]|[-=]*>|<[-=]*)?".format(open=r"[\[(]?\s*", end=r"(?=[\s:,;|\])<>=-])\s*[\])]?"),
    re.IGNORECASE,
)
_CLOCK: Final = re.compile(
    r"\s*[\[(]?\s*(?:(?P<date>\d{4}[-/]\d\d[-/]\d\d)[T ,;_]\s*|"
    r"(?P<d>\d\d?)(?P<sep>[./-])(?P<mo>\d\d?)(?P=sep)(?P<y>\d{4}|\d\d)[ ,;_]\s*)?"
    r"(?P<h>\d{1,2}):(?P<m>\d\d):(?P<s>\d\d)"
    r"(?:[.,](?P<frac>\d{1,9}))?\d*\s*(?P<half>[AaPp]\.?[Mm]\b\.?)?"
    r"(?P<zone>Z|[+-]\d\d:?\d\d)?\s*(?:[\])]|(?=[\s,;|:><-])|$)\s*[,;|:]?"
)
_DAY_AND_MONTH: Final = re.compile(r"(?<!\d)(\d\d?)([./-])(\d\d?)\2\d{4}[ ,;_]\s*\d{1,2}:\d\d:")
_MONTHS: Final = 12
_SECONDS: Final = re.compile(
    r"\s*(?:t\s*=\s*|[+@]\s*)?(?P<open>[\[(])?\s*(?P<whole>\d{1,19})(?:\.(?P<frac>\d{1,9})\d*)?\s*(?P<unit>ms|us|s)?\s*"
    r"(?:(?P<close>[\])])|(?=[\s,;|:><-]))\s*[,;|:]?",
    re.IGNORECASE,
)
_OCTET: Final = re.compile("[0-9A-Fa-f]{1,2}")
_LEAST_OCTETS: Final = 3
_OCTET_GAP_NS: Final = 150_000_000
"""Bytes written one a line belong together up to this; P1 is 20 ms, a recorder adds its own (from memory)."""
_SET_UP: Final = re.compile(r"AT ?(?:Z|WS|D|I|RV|DPN?|[ELHS][01]|SP ?A?[0-9A-C]|@1)")
"""Commands that sessions begin with (common practice, no source)."""
_COUNT: Final = re.compile(r"\s*(\d{1,12})(?:\s*[,;:|]|\s)\s*\S")
_LEAST_COUNTS: Final = 4
_LATEST_NS: Final = 9 * 10**18
_UNIT_NS: Final = {"s": 10**9, "ms": 10**6, "us": 10**3}


class Stamp(NamedTuple):
    """A line's time in ns; whether it is Unix time, a time of day, whether it names its zone, whether a date beside it
    is left out since its day and month cannot be told apart."""

    t_ns: int
    absolute: bool
    of_day: bool = False
    zone: bool = True
    undated: bool = False


class Piece(NamedTuple):
    """Text between line ends and prompts: line number, time, whether it stands behind a prompt or is marked sent.

    ``is_length`` where it is the length of the numbered lines behind it, which no other three digits stand before.
    """

    line: int
    stamp: Stamp | None
    prompted: bool
    sent: bool
    text: str
    is_length: bool = False


def pieces(text: str) -> Iterator[Piece]:
    """The pieces of a session; a length in front of numbered lines was not sent, behind a prompt neither."""
    before: Piece | None = None
    for piece in _whole(text):
        if before is not None:
            is_length = (
                FIRST_LINE.match(piece.text) is not None
                and LENGTH.fullmatch(before.text) is not None
                and (before.prompted or not before.sent)  # what is marked as sent was
            )
            yield before._replace(sent=False, is_length=True) if is_length else before
        before = piece
    if before is not None:
        yield before


def _whole(text: str) -> Iterator[Piece]:
    """Pieces; bytes that stand one a line are one of them."""
    run: list[Piece] = []
    for piece in _apart(text):
        is_octet = not piece.sent and _OCTET.fullmatch(piece.text) is not None
        if run and not (is_octet and _follows(run[-1], piece)):
            yield from _joined(run)
            run = []
        if is_octet:
            run.append(piece)
        else:
            yield piece
    yield from _joined(run)


def counts_ms(lines: Sequence[str]) -> bool:
    """Whether every line begins with a whole number, and these never fall: a recorder's count of milliseconds."""
    matches = [_COUNT.match(line) for line in lines if line.strip() and not line.lstrip().startswith("#")]
    counts = [int(match[1]) for match in matches if match]
    if len(counts) < max(_LEAST_COUNTS, len(matches)) or len(str(counts[-1])) < 3:
        return False
    return counts[0] < counts[-1] and all(a <= b for a, b in itertools.pairwise(counts))


def _follows(before: Piece, piece: Piece) -> bool:
    if before.stamp is None or piece.stamp is None:
        return before.stamp is piece.stamp
    return 0 <= piece.stamp.t_ns - before.stamp.t_ns <= _OCTET_GAP_NS


def _joined(run: list[Piece]) -> Iterator[Piece]:
    if len(run) < _LEAST_OCTETS:
        yield from run
    else:
        yield run[0]._replace(text=" ".join(piece.text.zfill(2) for piece in run))


def _apart(text: str) -> Iterator[Piece]:
    """What stands between line ends and prompts, blank pieces left out."""
    lines = LINE_END.split(text)
    has_counts, day_first = counts_ms(lines), _day_first(text)
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if len(line) > _LONGEST_LINE:
            yield Piece(number, None, False, False, line[:20] + "...")
            continue
        sent, rest = _direction(line)
        stamp, rest = _stamp(rest, has_counts, day_first)
        also, rest = _direction(rest)
        cells = _TWO_CELLS.fullmatch(rest.strip())
        if cells:
            rest = f"{cells[1]}|{cells[2]}"
        for k, part in enumerate(_ARROW.sub("\n", rest).replace(">", "\n>").split("\n")):
            prompted = part.startswith(">")
            body = part.removeprefix(">").strip()
            if body:
                yield Piece(number, stamp, prompted, prompted or (k == 0 and (sent or also)), body)


def _direction(text: str) -> tuple[bool, str]:
    """Whether a mark says "sent", and the text behind it."""
    text = text.lstrip()  # what the pattern makes of very many blanks takes their square
    match = _DIRECTION.match(text)
    return (bool(match["sent"]), text[match.end() :]) if match else (False, text)


def _stamp(text: str, has_counts: bool, day_first: bool | None) -> tuple[Stamp | None, str]:
    """The time at the beginning of a line, and the text behind it; a whole number without unit where lines count."""
    text = text.lstrip()
    match = _CLOCK.match(text)
    if match:
        return _clock(match, day_first), text[match.end() :]
    match = _SECONDS.match(text)
    if match is None or bool(match["open"]) != bool(match["close"]):
        return None, text
    whole, unit = match["whole"], (match["unit"] or "").lower()
    if match["frac"] is None and not unit:
        if not match["open"] and len(whole) not in (13, 16) and not has_counts:
            return None, text  # hex of digits only
        unit = {16: "us"}.get(len(whole), "s" if len(whole) == 10 and not has_counts else "ms")
    factor = _UNIT_NS[unit or "s"]
    fraction = int((match["frac"] or "0").ljust(9, "0")) * factor // 10**9
    t_ns = int(whole) * factor + fraction
    return (Stamp(t_ns, t_ns >= ABSOLUTE_FROM_NS) if t_ns < _LATEST_NS else None), text[match.end() :]


def _clock(match: re.Match[str], day_first: bool | None) -> Stamp | None:
    fraction = int((match["frac"] or "0").ljust(9, "0"))
    hour = int(match["h"])
    if match["half"]:
        hour = hour % 12 + (12 if match["half"][0] in "pP" else 0)
    date = match["date"] or _date(match, day_first)
    if date is None:
        seconds = hour * 3600 + int(match["m"]) * 60 + int(match["s"])
        return Stamp(seconds * 10**9 + fraction, False, of_day=True, undated=match["d"] is not None)
    try:
        zone = match["zone"] or "+00:00"
        moment = datetime.datetime.fromisoformat(f"{date.replace('/', '-')}T{hour:02d}:{match['m']}:{match['s']}{zone}")
    except ValueError:
        return None
    t_ns = round(moment.timestamp()) * 10**9 + fraction
    return Stamp(t_ns, True, zone=match["zone"] is not None) if 0 <= t_ns < _LATEST_NS else None


def _date(match: re.Match[str], day_first: bool | None) -> str | None:
    """A date whose year stands last in ISO 8601; None where there is none or its order is not known."""
    if match["d"] is None or len(match["y"]) != 4 or day_first is None:
        return None
    day, month = (match["d"], match["mo"]) if day_first else (match["mo"], match["d"])
    return f"{match['y']}-{int(month):02d}-{int(day):02d}"


def _day_first(text: str) -> bool | None:
    """Whether the day stands first in the dates of a session, of which one tells it for all; None where none does."""
    dates = set(_DAY_AND_MONTH.findall(text))
    if any(mark == "." or int(first) > _MONTHS for first, mark, _ in dates):
        return True
    return False if any(int(second) > _MONTHS for _, _, second in dates) else None


def looks(source: Source) -> Guess:
    """A session has requests followed by answers that fit, or frames with headers, and little else.

    Where no request is shown and the adapter says nothing of itself, nearly all must be answers as SAE J1979 builds
    them, behind prompts.
    """
    text = source.head.decode("utf-8", "replace").removeprefix("\ufeff").replace("\0", "")
    known = total = fitting = prompts = 0
    asked = -1
    found: list[Item] = []
    for piece in pieces(text):
        if piece.line > _LINES_LOOKED_AT:
            break
        prompts += piece.prompted
        for item in items(piece.text, piece.sent):
            total += 1
            known += not isinstance(item, Bad)
            found.append(item)
            if isinstance(item, Plain) and not item.answer:
                asked = item.data[0]
            elif isinstance(item, Plain | Part) and len(item.data) > 1:
                fitting += item.data[0] == asked | 0x40 or (item.data[0] == 0x7F and item.data[1] == asked)
            elif isinstance(item, Can):
                fitting += any(long or can_id >= 0x700 for can_id, long, _ in item.frames)
            elif isinstance(item, Kline):
                fitting += any(isinstance(one, Message) or _is_handshake(one) for one in item.found)
            elif isinstance(item, Command | Status) and len(item[0]) > 3:
                fitting += piece.prompted or _SET_UP.fullmatch(item[0]) is not None
    if not fitting:
        return _answers_alone(found) if prompts else NO
    if known < _LEAST_SHARE * total:
        return NO
    return Guess(0.5 + 0.4 * known / total, f"{fitting} of the first {total} pieces answer a request or carry a header")


def _answers_alone(found: Sequence[Item]) -> Guess:
    """A session with echo off, of which nothing but answers and prompts is left."""
    told = [
        item for item in found if not isinstance(item, Length | Status) and not (isinstance(item, Part) and item[0])
    ]
    good = sum(isinstance(item, Plain | Part) and _is_answer(item) for item in told)
    if good < max(_LEAST_ANSWERS, _LEAST_SHARE_ALONE * len(told)):
        return NO
    text = f"no request is shown, {good} of the first {len(told)} answers behind prompts are as SAE J1979 builds them"
    return Guess(_ALONE, text)


def _is_answer(item: Plain | Part) -> bool:
    return obd_answers.is_well_formed(item.data) if isinstance(item, Plain) else item.data[0] in obd_answers.LONG


def _is_handshake(trouble: Trouble) -> bool:
    """Whether it is a whole 5-baud initialisation, which no other text looks like."""
    return trouble.kind == "init" and trouble.stop - trouble.start > 1


READER: Final = Reader("serial transcript", looks, "logan.capture.serial_text_read", (".txt", ".log"))
