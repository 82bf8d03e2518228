"""Names as their spellings in the data files are written, in whatever language they were met."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_CAMEL: Final = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_OTHER: Final = re.compile(r"[\W_]+")
_MARKS: Final = re.compile("(?<=[A-Za-z])[\u0300-\u036f]+")
_WHOLE: Final = str.maketrans({"ß": "ss", "ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "đ": "d",
                               "Đ": "D", "ı": "i", "œ": "oe", "Œ": "OE"})  # fmt: skip


def joined(name: str) -> str:
    """A plain name whose words may stand joined: ``EngineSpeed``, ``Engine speed`` and ``ENGINE_SPEED`` are one."""
    return plain(_CAMEL.sub("_", name))


def plain(name: str) -> str:
    """A name in small letters, Latin ones without marks, single underscores in place of all that is no letter or digit:
    ``Kühlmittel-Temperatur`` is ``kuhlmittel_temperatur``.
    """
    if not name.isascii():
        apart = unicodedata.normalize("NFKD", name.translate(_WHOLE))
        name = unicodedata.normalize("NFC", _MARKS.sub("", apart))
    return _OTHER.sub("_", name.lower()).strip("_")
