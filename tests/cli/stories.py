#!/usr/bin/python3
"""A few of the stories of docs/stories.md (see _stories.py)."""
from _stories import check_page

check_page(lambda index: index in (3, 4, 11))
