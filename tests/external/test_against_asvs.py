"""OWASP ASVS 5.0, level 2: what applies here has a test, and the test is there (asvs.toml, by chapter, from memory)."""

import re
import tomllib
from pathlib import Path

from django.conf import settings

ROOT = Path(settings.BASE_DIR)
TABLE = tomllib.loads(Path(__file__).with_name("asvs.toml").read_text())


def test_every_requirement_names_a_test_that_exists():
    named = [test for chapter, lines in TABLE.items() if chapter != "open" for test in lines.values()]
    assert len(named) > 35
    for name in named:
        path, _, function = name.partition("::")
        text = (ROOT / path).read_text()
        assert not function or re.search(rf"^def {function}\(", text, re.MULTILINE), name


def test_what_is_open_is_said():
    assert TABLE["open"]
    assert not any(TABLE["open"].values())
