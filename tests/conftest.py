"""Random examples are judged by their law, not by how long a busy machine takes for one of them."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
