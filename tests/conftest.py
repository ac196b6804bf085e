"""What all tests share: no deadlines, for a machine under load is slow, not wrong; no letterhead of the user's own."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

os.environ["BURNER_ADVISOR_SHOP"] = os.devnull
