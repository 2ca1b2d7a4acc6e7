"""The demo before anything is tied in, read once for all tests of sheets."""

from __future__ import annotations

from composer.demo import bare_demo

DEMO, GALLERY = bare_demo()
