"""Random examples are judged by their law, not by how long a busy machine takes for one of them; Ctrl-C works."""

from __future__ import annotations

import signal

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as in the background of a shell, and inherited from there
    signal.signal(signal.SIGINT, signal.default_int_handler)
