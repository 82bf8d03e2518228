"""Everything that can be found wrong in data files, signal data bases included."""

from __future__ import annotations

from logan.decode import dbc
from logan.errors import KnowledgeError
from logan.knowledge import check
from logan.knowledge.folders import Folders, files
from logan.knowledge.locate import dbc_open


def mistakes(folders: Folders) -> list[KnowledgeError]:
    """Mistakes in the folders and in the built-in data, in order of the files."""
    found = check.mistakes(folders)
    for path in (*sorted(dbc_open().glob("*.dbc")), *files(folders, "*.dbc")):
        try:
            dbc.load([path])
        except KnowledgeError as error:
            found.append(error)
    return found
