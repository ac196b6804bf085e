"""What all tests share: no deadlines, for a machine under load is slow, not wrong."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
