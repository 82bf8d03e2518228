"""Where the workshop listens, and that it alone serves its data folder: both are told before anything else starts."""

from __future__ import annotations

import errno
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from logan.errors import OutputError, UsageError

if sys.platform != "win32":
    import fcntl

LOCK: Final = "served.lock"


def sockets(host: str, port: int) -> list[socket.socket]:
    """Sockets that listen at a port of every address that a host name stands for.

    Raises
    ------
    UsageError : another program listens there, this user may not, or it is no address of this machine
    """
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    except OSError as error:
        raise _absent(host) from error
    out: list[socket.socket] = []
    for family, address in dict.fromkeys((family, address) for family, _, _, _, address in found):
        try:
            out.append(socket.create_server(address, family=family))
        except OSError as error:
            if error.errno in (errno.EADDRNOTAVAIL, errno.EAFNOSUPPORT):  # one of a name's addresses may be away
                continue
            for one in out:
                one.close()
            raise _refused(host, port, error) from error
    if not out:
        raise _absent(host)
    return out


def _absent(host: str) -> UsageError:
    return UsageError(f"--host {host} is no address of this machine", do="leave it out, or name one that it has")


def _refused(host: str, port: int, error: OSError) -> UsageError:
    if error.errno == errno.EADDRINUSE:
        why = f"port {port} of {host} is taken by another program, which may be a workshop that runs already"
        return UsageError(why, do="open that one in a browser, or name another port with --port")
    if error.errno in (errno.EACCES, errno.EPERM):
        return UsageError(f"port {port} of {host} is not open to this user", do="name one above 1023 with --port")
    return UsageError(f"port {port} of {host} cannot be listened at: {error.strerror}", do="name another with --port")


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Hold a data folder, which one server at a time may serve; ends with the process, however that ends.

    Raises
    ------
    UsageError : another server holds it
    OutputError : the folder refuses
    """
    if sys.platform == "win32":
        yield
        return
    try:
        lock = (folder / LOCK).open("a")
    except OSError as error:
        reason = (error.strerror or "cannot be written").lower()
        raise OutputError(reason, file=str(folder), do="name another folder with --data") from error
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise UsageError(
                "a workshop serves this data folder already", file=str(folder),
                do="open that one in a browser, or name another folder with --data",
            ) from error  # fmt: skip
        except OSError:
            pass  # a folder on a network may have no locks
        yield
