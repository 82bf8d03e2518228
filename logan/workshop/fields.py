"""The kinds of fields in forms and addresses: what no data base can hold is refused before it gets there."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import Form, Path
from pydantic import AfterValidator

LARGEST_NUMBER: Final = 2**31 - 1
"""What a column of whole numbers holds everywhere."""


def _kept(text: str) -> str:
    if "\x00" in text:  # PostgreSQL holds no such text
        raise ValueError("holds the character 0")
    return text


Text = Annotated[str, Form(), AfterValidator(_kept)]
"""A field of a form."""
Asked = Annotated[str, AfterValidator(_kept)]
"""A word in an address."""
Number = Annotated[int, Path(ge=1, le=LARGEST_NUMBER)]
"""The number of a case, an exercise or an attempt in an address."""
Numbers = Annotated[list[Annotated[int, Path(ge=1, le=LARGEST_NUMBER)]] | None, Form()]
"""Numbers that a form brings."""
