"""Measures that kill the process they run in; of a module, so that other processes find them."""

import os
import signal
from pathlib import Path

from fea.solve.condense import Store
from fea.study.attempt import Values
from fea.study.sweep import plain
from fea.study.variant import Setting, Variant

ONCE, ALWAYS = "4.5 mm", "5 mm"
"""The variants that die."""


def die_once(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Die at one variant the first time; the setting's source names the file that tells."""
    told = Path(setting.source)
    if ("rail.wall", ONCE) in variant.edits and not told.exists():
        told.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return plain(setting, variant, store)


def die_once_and_always(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Die at one variant the first time, and at another each time."""
    if ("rail.wall", ALWAYS) in variant.edits:
        os.kill(os.getpid(), signal.SIGKILL)
    return die_once(setting, variant, store)
