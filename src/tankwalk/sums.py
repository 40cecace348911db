"""SHA-256 as the interpreter itself has it.

`hashlib` loads OpenSSL, 0.6 MiB, for the one sum that a start needs; `random` of the standard
library goes round it in the same way. Where an interpreter has none of its own, hashlib's is
taken. Going through a whole record takes hashlib's (`ledger.chain`), which is the quicker one.
"""

from __future__ import annotations

from sys import version_info
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hashlib import sha256 as sha256
else:
    from importlib import import_module

    try:
        sha256 = import_module("_sha256" if version_info < (3, 12) else "_sha2").sha256
    except ImportError:
        sha256 = import_module("hashlib").sha256
