"""The loops of ``kernels.ll`` as functions: compiled once a machine, kept in the user's cache folder.

The text is LLVM's own and runs on any processor; llvmlite compiles it in a fraction of a second. Where llvmlite is
missing, or of another age and refuses the text, there is no library and the callers take their twins in numpy. On Linux
what was compiled is kept as an image, which a later start runs without llvmlite.
"""

from __future__ import annotations

import ctypes
import functools
import importlib
import os
import re
import sys
import zlib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

import msgspec

from logan import cache
from logan.native import image

TEXT: Final = Path(__file__).with_name("kernels.ll")
SWITCH: Final = "LOGAN_NATIVE"
"""Environment variable; ``0`` keeps to numpy."""
PROCESSOR: Final = Path("/proc/cpuinfo")
_SPEED_LEVEL: Final = 2
_OLDEST_LLVM: Final = (20, 0, 0)
_ONE_PROCESSOR_BYTES: Final = 8192
_FLAGS: Final = re.compile(rb"^(?:flags|model name)\s*:.*$", re.MULTILINE)


class Library:
    """Compiled functions by name; all take addresses and whole numbers and return a whole number.

    Parameters
    ----------
    address_of : where the function of a name begins
    """

    def __init__(self, address_of: Callable[[str], int]) -> None:
        self._address_of = address_of

    def function(self, name: str, arguments: int) -> Callable[..., int]:
        """One function of so many arguments."""
        made = ctypes.CFUNCTYPE(ctypes.c_int64, *arguments * [ctypes.c_int64])(self._address_of(name))
        made.code = self  # type: ignore[attr-defined] # which stays in memory as long as the function
        return made


class Compiler:
    """llvmlite, for this machine's processor.

    Parameters
    ----------
    llvm : the module ``llvmlite.binding``
    """

    def __init__(self, llvm: Any) -> None:
        if llvm.llvm_version_info < _OLDEST_LLVM:
            raise RuntimeError("an LLVM of this age would write its own complaint of the text to standard error")
        llvm.initialize_native_target()
        llvm.initialize_native_asmprinter()
        self._llvm = llvm
        self._cpu, self._features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
        # one piece of code that finds all its parts by distance, so that it may stand anywhere
        self._machine = llvm.Target.from_default_triple().create_target_machine(
            cpu=self._cpu, features=self._features, opt=_SPEED_LEVEL, reloc="pic", codemodel="small", jit=True
        )

    def object_code(self, folder: Path) -> bytes:
        """What the text compiles to; kept in a folder."""
        text = TEXT.read_bytes()
        version = ".".join(map(str, self._llvm.llvm_version_info))
        path = folder / f"kernels-{_mark(text, self._cpu, self._features, version)}.o"
        code = cache.kept_code(path)
        if code is None:
            module = self._llvm.parse_assembly(text.decode("utf-8"))
            options = self._llvm.create_pipeline_tuning_options(speed_level=_SPEED_LEVEL)
            builder = self._llvm.create_pass_builder(self._machine, options)
            builder.getModulePassManager().run(module, builder)
            code = bytes(self._machine.emit_object(module))
            cache.store_code(path, code)
        return code

    def loaded(self, code: bytes) -> Library:
        """Object code ready to run."""
        engine = self._llvm.create_mcjit_compiler(self._llvm.parse_assembly(""), self._machine)
        engine.add_object_file(self._llvm.ObjectFileRef.from_data(code))
        engine.finalize_object()
        return Library(engine.get_function_address)


@functools.cache
def is_light() -> bool:
    """Whether loading the loops takes next to no time, but for the first start ever, which has to compile them."""
    return os.environ.get(SWITCH) != "0" and _image_path(cache.folder()) is not None


def is_loaded() -> bool:
    """Whether the loops are in memory already."""
    return bool(library.cache_info().currsize)


@functools.cache
def library() -> Library | None:
    """The compiled loops, None where this installation has to do without."""
    if os.environ.get(SWITCH) == "0":
        return None
    folder = cache.folder()
    kept = _image_path(folder)
    if kept is not None:
        with suppress(OSError, ValueError, msgspec.MsgspecError):
            return Library(image.Image(kept).address_of)
    # llvmlite may be absent (ImportError), lack its library (OSError), refuse text or processor (RuntimeError), or be
    # of an age with other functions (AttributeError, TypeError)
    with suppress(ImportError, OSError, RuntimeError, AttributeError, TypeError):
        compiler = Compiler(importlib.import_module("llvmlite.binding"))
        code = compiler.object_code(folder)
        piece = image.made(code) if kept is not None else None
        if kept is not None and piece is not None:
            cache.store(kept, piece)
        return compiler.loaded(code)
    return None


def _image_path(folder: Path) -> Path | None:
    """Where an image of this text for this processor is kept, None where images are not made."""
    if sys.platform != "linux":
        return None
    with suppress(OSError):
        with PROCESSOR.open("rb") as stream:
            about = _FLAGS.findall(stream.read(_ONE_PROCESSOR_BYTES))
        version = cache.version_of("llvmlite")
        if about and version:
            return folder / f"kernels-{_mark(TEXT.read_bytes(), *about, version)}.image"
    return None


def _mark(text: bytes, *made_for: str | bytes) -> str:
    """Tells compiled texts apart: of which text, for which processor and by which version."""
    about = repr((made_for, _SPEED_LEVEL)).encode()
    return "-".join(f"{len(part):x}-{zlib.crc32(part):08x}{zlib.adler32(part):08x}" for part in (text, about))
