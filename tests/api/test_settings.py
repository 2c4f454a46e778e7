"""Settings come from the environment and say what they accept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from leastwise.api.settings import Settings


def test_defaults() -> None:
    settings = Settings.from_environment({"XDG_CACHE_HOME": "/c"})

    assert settings.cache == Path("/c/leastwise")
    assert settings.base == "https://w3id.org/leastwise/"


def test_everything_can_be_set() -> None:
    settings = Settings.from_environment(
        {
            "LEASTWISE_CACHE": "off",
            "LEASTWISE_WITH": os.pathsep.join(["/a", "/b"]),
            "LEASTWISE_MAX_BODY": "10",
            "LEASTWISE_BASE": "https://x.example/#",
        }
    )

    assert settings == Settings(None, (Path("/a"), Path("/b")), 10, "https://x.example/#")


@pytest.mark.parametrize(
    ("name", "value"),
    [("LEASTWISE_MAX_BODY", "0"), ("LEASTWISE_MAX_BODY", "ten"), ("LEASTWISE_BASE", "nowhere")],
)
def test_a_wrong_setting_is_named(name: str, value: str) -> None:
    with pytest.raises(ValueError, match=name):
        Settings.from_environment({name: value})
