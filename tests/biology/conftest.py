"""Property tests of this layer are about numbers, never about time: no deadline on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("no_deadline", deadline=None)
settings.load_profile("no_deadline")
