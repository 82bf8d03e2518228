"""The errors that a user can meet, on one page.

    LoganError
    ├── UsageError        the command was given something that it cannot use
    ├── CaptureError      a capture cannot be read
    ├── KnowledgeError    a data file (profile, fault, signal data base, text) is wrong
    ├── OutputError       a result cannot be written
    └── ClusterError      the machines that share the work cannot be reached, or were lost

Each says which file, where in it, why, and what to do next; the command line prints it as one line and exits with 2.
Anything else that escapes is a defect of the program.
"""

from __future__ import annotations


class LoganError(Exception):
    """One clear line: file, place, reason, next step.

    Parameters
    ----------
    reason : what is wrong, a phrase without a full stop
    file : the file as the user gave it
    place : where in the file ("line 12", "key pump.key_step_deg")
    do : what to do next, a phrase without a full stop
    """

    def __init__(
        self, reason: str, *, file: str | None = None, place: str | None = None, do: str | None = None
    ) -> None:
        super().__init__(reason)
        self.reason = reason
        self.file = file
        self.place = place
        self.do = do

    def __str__(self) -> str:
        """One line without control characters, whatever came in from outside."""
        where = ", ".join(part for part in (self.file, self.place) if part)
        text = f"{where}: {self.reason}" if where else self.reason
        if self.do:
            text = f"{text}; {self.do}"
        return "".join(c if c.isprintable() else "?" for c in text)


class UsageError(LoganError):
    """The command was given something that it cannot use."""


class CaptureError(LoganError):
    """A capture cannot be read."""


class KnowledgeError(LoganError):
    """A data file (profile, fault, signal data base, text) is wrong."""


class OutputError(LoganError):
    """A result cannot be written."""


class ClusterError(LoganError):
    """The machines that share the work cannot be reached, or were lost."""
