"""A real browser on the served notebooks: the app as a user starts it, and JupyterLab.

Needs a Chromium on the machine and playwright, which drives it; skipped without them, unless the
environment says SHRINKAGE_BROWSER=must, as the checks on a clean checkout do.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--no-first-run")  # fmt: skip
START = 90.0
DATES = """
[calendar]
sawn = 2027-01-15
raised = 2027-05-10
enclosed = 2027-06-01
foamed = 2027-07-07
heated = 2027-10-15
years = 2
"""


def missing() -> str:
    """Return what the browser tests lack; empty where nothing."""
    if os.environ.get("SHRINKAGE_BROWSER") == "skip":
        return "SHRINKAGE_BROWSER=skip"
    if CHROMIUM is None:
        return "no Chromium on this machine (Debian: apt-get install chromium)"
    for package in ("playwright", "voila", "jupyterlab"):
        try:
            __import__(package)
        except ImportError:
            return f"no {package} (pip install 'shrinkage[test]')"
    return ""


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@contextmanager
def served(kind: str, jobs: Path, *more: str) -> Iterator[str]:
    """Start a server as the command line does; yield its first address, token included."""
    words = [sys.executable, "-m", "shrinkage", kind, "--no-open", "--jobs", str(jobs),
             f"--port={free_port()}", *more]  # fmt: skip
    server = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                              env=os.environ | {"PYTHONUNBUFFERED": "1"}, cwd=jobs)  # fmt: skip
    said = ""
    end = time.monotonic() + START
    try:
        assert server.stdout is not None
        while "Ctrl+C" not in said:
            line = server.stdout.readline()
            assert line and time.monotonic() < end, f"the server said only: {said}"
            said += line
        yield re.search(r"http://\S+", said)[0]  # type: ignore[index]
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=30)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if reason := missing():
        if os.environ.get("SHRINKAGE_BROWSER") == "must":
            pytest.fail(f"SHRINKAGE_BROWSER=must, but {reason}")
        pytest.skip(reason)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield found
        found.close()


@pytest.fixture(scope="session")
def jobs(tmp_path_factory: Any, workshop_text: str) -> Path:
    """Return a folder of jobs: sound, without its weather file, with a slip, and with dates."""
    folder: Path = tmp_path_factory.mktemp("jobs")
    sound = workshop_text.replace('title = "', 'title = "Own: ', 1).replace(
        '"10 in 12"', '"9 in 12"'
    )
    (folder / "a_sound.toml").write_text(sound, encoding="utf-8")
    elsewhere = re.sub(r"(?m)^place = .*$", 'series = "weather_of_another_machine.csv"', sound)
    assert elsewhere != sound
    (folder / "b_elsewhere.toml").write_text(elsewhere.replace("Own:", "Elsewhere:"), "utf-8")
    slip = sound.replace('"9 in 12"', '"ten in twelve"').replace("Own:", "Slip:")
    dated = sound.replace("Own:", "Dated:") + DATES
    (folder / "d_dated.toml").write_text(dated, encoding="utf-8")
    (folder / "c_slip.toml").write_text(slip, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def app(browser: Browser, jobs: Path) -> Iterator[str]:
    with served("app", jobs) as address:
        yield address


@pytest.fixture(scope="session")
def lab(browser: Browser, jobs: Path, tmp_path_factory: Any) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("lab")
    with served("lab", jobs, "--folder", str(folder)) as address:
        yield address
