"""A form with captures, taken in as it comes: whoever may not send is refused before a byte of it is on disk.

Each capture goes straight to the data folder, block by block, and is hashed on the way; memory stays that of one block.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from fastapi import Request
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header

from logan.errors import UsageError
from logan.store.captures import Arriving

BLOCK: Final = 1 << 18
MOST_PARTS: Final = 200
MOST_HEADER: Final = 4_000
MOST_FIELD: Final = 10_000
LONGEST_BOUNDARY: Final = 70
"""RFC 2046, section 5.1.1."""
AGAIN: Final = "load the page again and send it once more"
logging.getLogger("python_multipart").addHandler(logging.NullHandler())  # no line on the console a damaged form


@dataclass
class Form:
    """What has come so far: fields by name in their order, and captures."""

    fields: list[tuple[str, str]] = field(default_factory=list)
    files: list[Arriving] = field(default_factory=list)

    def all(self, name: str) -> list[str]:
        """Every value of a field."""
        return [value for key, value in self.fields if key == name]

    def one(self, name: str) -> str:
        """The first value of a field, empty where it is absent."""
        return next(iter(self.all(name)), "")

    def drop(self) -> None:
        """Remove the captures that came."""
        for file in self.files:
            file.drop()


async def received(request: Request, folder: Path, allowed: Callable[[Form], None]) -> Form:
    """Read the body of a request to its end; on any trouble nothing of it stays.

    Parameters
    ----------
    allowed : raises where the fields that came before the first capture do not allow to send one

    Raises
    ------
    UsageError : the body is no form with files, or its fields are too many or too long
    """
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    if kind != b"multipart/form-data" or b"boundary" not in options:
        raise UsageError("no capture was handed in", do="choose at least one file")
    if len(options[b"boundary"]) > LONGEST_BOUNDARY:
        raise UsageError("the form came damaged", do=AGAIN)
    form = Form()
    parts = _Parts(form, folder, allowed, options[b"boundary"])
    block = bytearray()
    try:
        async for chunk in request.stream():
            block += chunk
            if len(block) >= BLOCK:
                await asyncio.to_thread(parts.take, bytes(block))
                block.clear()
        await asyncio.to_thread(parts.take, bytes(block), last=True)
    except BaseException:
        form.drop()
        raise
    return form


class _Parts:
    """Sorts the parts of a body (RFC 7578) into fields and captures."""

    def __init__(self, form: Form, folder: Path, allowed: Callable[[Form], None], boundary: bytes) -> None:
        self._form, self._folder, self._allowed = form, folder, allowed
        self._name, self._value, self._header, self._headers = "", bytearray(), bytearray(), bytearray()
        self._file: Arriving | None = None
        self._disposition = b""
        self._unchosen = False
        self._count = 0
        self._ended = False
        self._parser = MultipartParser(
            boundary,
            {
                "on_part_begin": self._begin,
                "on_header_field": self._header_name,
                "on_header_value": self._header_value,
                "on_header_end": self._header_end,
                "on_headers_finished": self._headers_end,
                "on_part_data": self._data,
                "on_part_end": self._end,
                "on_end": self._all,
            },
        )

    def take(self, block: bytes, last: bool = False) -> None:
        """The next bytes of the body."""
        try:
            self._parser.write(block)
        except FormParserError as error:
            raise UsageError("the form came damaged", do=AGAIN) from error
        if last and not self._ended:
            raise UsageError("the form came cut off", do=AGAIN)

    def _begin(self) -> None:
        self._count += 1
        if self._count > MOST_PARTS:
            raise UsageError("the form has too many parts", do=f"hand in at most {MOST_PARTS // 2} files at once")
        self._value, self._headers, self._file, self._disposition = bytearray(), bytearray(), None, b""

    def _header_name(self, data: bytes, start: int, end: int) -> None:
        self._headers += data[start:end]
        self._short(self._headers, MOST_HEADER)

    def _header_value(self, data: bytes, start: int, end: int) -> None:
        self._header += data[start:end]
        self._short(self._header, MOST_HEADER)

    def _header_end(self) -> None:
        if self._headers.lower().endswith(b"content-disposition"):
            self._disposition = bytes(self._header)
        self._header.clear()

    def _headers_end(self) -> None:
        _, options = parse_options_header(self._disposition)
        self._name = options.get(b"name", b"").decode("utf-8", "replace")
        named = options.get(b"filename")
        self._unchosen = named == b""  # browsers send a part without a name where no file was chosen
        if named:
            self._allowed(self._form)
            self._file = Arriving(self._folder, named.decode("utf-8", "replace"))
            self._form.files.append(self._file)

    def _data(self, data: bytes, start: int, end: int) -> None:
        if self._file is not None:
            self._file.write(data[start:end])
        else:
            self._value += data[start:end]
            self._short(self._value, MOST_FIELD)

    def _end(self) -> None:
        if self._file is None and not self._unchosen:
            text = self._value.decode("utf-8", "replace").replace("\x00", "")  # which PostgreSQL cannot hold
            self._form.fields.append((self._name, text))

    def _all(self) -> None:
        self._ended = True

    def _short(self, what: bytearray, most: int) -> None:
        if len(what) > most:
            raise UsageError("a field of the form is too long", do=f"write at most {most} characters")
