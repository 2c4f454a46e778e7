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
            "LEASTWISE_STORE": "postgresql://me@host/records",
        }
    )

    assert settings == Settings(
        None,
        (Path("/a"), Path("/b")),
        10,
        "https://x.example/#",
        store="postgresql://me@host/records",
    )


def test_a_store_is_a_file_in_the_users_folder_unless_it_is_named() -> None:
    assert Settings.from_environment({"XDG_DATA_HOME": "/d"}).store == (
        "sqlite:////d/leastwise/leastwise.sqlite"
    )
    assert Settings.from_environment({"LEASTWISE_STORE": "/x/y.sqlite"}).store == (
        "sqlite:////x/y.sqlite"
    )


@pytest.mark.parametrize(
    ("name", "value"),
    [("LEASTWISE_MAX_BODY", "0"), ("LEASTWISE_MAX_BODY", "ten"), ("LEASTWISE_BASE", "nowhere")],
)
def test_a_wrong_setting_is_named(name: str, value: str) -> None:
    with pytest.raises(ValueError, match=name):
        Settings.from_environment({name: value})
