#!/usr/bin/python3
"""Every story of docs/stories.md (see _stories.py), or the share EBB_SLOW_SHARE of them."""
import os

from _stories import check_page

EVERY = round(1 / min(1.0, max(0.1, float(os.environ.get("EBB_SLOW_SHARE", "1")))))
check_page(lambda index: index % EVERY == 0)
