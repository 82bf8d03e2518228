"""The loops of ``kernels.ll`` as functions: compiled once a machine, kept in the user's cache folder.

The text is LLVM's own and runs on any processor; llvmlite compiles it in a fraction of a second. Where llvmlite is
missing, or of another age and refuses the text, there is no library and the callers take their twins in numpy.
"""

from __future__ import annotations

import ctypes
import functools
import hashlib
import importlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from logan import cache

TEXT: Final = Path(__file__).with_name("kernels.ll")
SWITCH: Final = "LOGAN_NATIVE"
"""Environment variable; ``0`` keeps to numpy."""
_SPEED_LEVEL: Final = 2
_OLDEST_LLVM: Final = (20, 0, 0)


class Library:
    """Compiled functions by name; all take addresses and whole numbers and return a whole number.

    Parameters
    ----------
    llvm : the module ``llvmlite.binding``
    folder : where the compiled code is kept
    """

    def __init__(self, llvm: Any, folder: Path) -> None:
        if llvm.llvm_version_info < _OLDEST_LLVM:
            raise RuntimeError("an LLVM of this age would write its own complaint of the text to standard error")
        text = TEXT.read_bytes()
        llvm.initialize_native_target()
        llvm.initialize_native_asmprinter()
        cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
        machine = llvm.Target.from_default_triple().create_target_machine(
            cpu=cpu, features=features, opt=_SPEED_LEVEL, jit=True
        )
        version = ".".join(map(str, llvm.llvm_version_info))
        made_of = hashlib.sha256(text)
        made_of.update(f"{cpu} {features} LLVM {version} level {_SPEED_LEVEL}".encode())
        path = folder / f"kernels-{made_of.hexdigest()[:32]}.o"
        code = cache.kept_code(path)
        if code is None:
            module = llvm.parse_assembly(text.decode("utf-8"))
            builder = llvm.create_pass_builder(machine, llvm.create_pipeline_tuning_options(speed_level=_SPEED_LEVEL))
            builder.getModulePassManager().run(module, builder)
            code = machine.emit_object(module)
            cache.store_code(path, code)
        self._engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
        self._engine.add_object_file(llvm.ObjectFileRef.from_data(code))
        self._engine.finalize_object()

    def function(self, name: str, arguments: int) -> Callable[..., int]:
        """One function of so many arguments."""
        made = ctypes.CFUNCTYPE(ctypes.c_int64, *arguments * [ctypes.c_int64])
        return made(self._engine.get_function_address(name))


@functools.cache
def library() -> Library | None:
    """The compiled loops, None where this installation has to do without."""
    if os.environ.get(SWITCH) == "0":
        return None
    # llvmlite may be absent (ImportError), lack its library (OSError), refuse text or processor (RuntimeError), or be
    # of an age with other functions (AttributeError, TypeError)
    with suppress(ImportError, OSError, RuntimeError, AttributeError, TypeError):
        return Library(importlib.import_module("llvmlite.binding"), cache.folder())
    return None
