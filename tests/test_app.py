"""Serving the notebooks: what is said where it cannot start, and that nothing is left behind."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from shrinkage import app
from shrinkage.errors import ShrinkageError


@pytest.fixture
def taken():
    with socket.socket() as other:
        other.bind((app.HOST, 0))
        other.listen()
        yield other.getsockname()[1]


def test_notebooks_are_found_with_the_first_page():
    assert (app.notebooks_folder() / app.FIRST).is_file()


def test_port_in_use_names_another(taken):
    with pytest.raises(ShrinkageError, match=rf"port {taken} .*in use.*--port {taken + 1}"):
        app.check_ready("app", taken)


@pytest.mark.parametrize("port", [0, -1, 70000])
def test_port_that_is_none(port):
    with pytest.raises(ShrinkageError, match="1 to 65535"):
        app.check_ready("lab", port)


@pytest.mark.parametrize(("kind", "package"), [("app", "voila"), ("lab", "jupyterlab")])
def test_missing_extra_says_the_one_line(monkeypatch, kind, package):
    monkeypatch.setattr(app, "find_spec", lambda name: None)
    with pytest.raises(ShrinkageError, match=re.escape(f"pip install 'shrinkage[{kind}]'")) as said:
        app.check_ready(kind, 8866)
    assert package in said.value.message and "\n" not in said.value.message


def test_folder_of_jobs_must_be_there(tmp_path):
    with pytest.raises(ShrinkageError, match="no such folder"):
        app.serve("app", port=1 + app.PORTS["app"], jobs=tmp_path / "nowhere", opener=None)


@pytest.mark.parametrize("kind", ["app", "lab"])
def test_servers_listen_on_the_loopback_only_and_want_the_token(kind, tmp_path):
    words, address = app.command(kind, 1234, tmp_path, "secret")
    assert any(word.endswith(".ip=127.0.0.1") for word in words)
    assert any(word.endswith("token=secret") for word in words) and "--no-browser" in words
    assert address.startswith("http://127.0.0.1:1234/") and address.endswith("?token=secret")


def test_copies_to_work_in_are_never_overwritten(tmp_path):
    (tmp_path / app.FIRST).write_text("mine", encoding="utf-8")
    folder = app.working_copy(tmp_path)
    assert (folder / app.FIRST).read_text(encoding="utf-8") == "mine"
    assert {p.name for p in folder.iterdir()} == {
        p.name for p in app.notebooks_folder().glob("*.ipynb")
    }


def test_copies_into_a_file_are_refused(tmp_path):
    (tmp_path / "here").write_text("", encoding="utf-8")
    with pytest.raises(ShrinkageError, match="cannot be written"):
        app.working_copy(tmp_path / "here")


@pytest.mark.parametrize(("found", "said"), [(True, False), (False, True)])
def test_no_browser_is_said(capsys, found, said):
    opened = []
    app._announce("http://x", lambda address: opened.append(address) or found)
    out = capsys.readouterr().out
    assert opened == ["http://x"] and "http://x" in out
    assert ("No browser was found" in out) is said


def start(jobs: Path, port: int) -> subprocess.Popen[str]:
    pytest.importorskip("voila")
    words = [sys.executable, "-m", "shrinkage", "app", "--no-open", f"--port={port}"]
    return subprocess.Popen([*words, "--jobs", str(jobs)], stdout=subprocess.PIPE, text=True,
                            env=os.environ | {"PYTHONUNBUFFERED": "1"})  # fmt: skip


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_stopping_it_stops_the_server(tmp_path, how):
    with socket.socket() as trial:
        trial.bind((app.HOST, 0))
        port = trial.getsockname()[1]
    server = start(tmp_path, port)
    line = ""
    while "Ctrl+C" not in line:
        line = server.stdout.readline()
        assert line, "it stopped by itself"
    server.send_signal(how)
    assert server.wait(timeout=30) == (0 if how == signal.SIGINT else 143)
    for _ in range(50):
        with socket.socket() as trial:
            if trial.connect_ex((app.HOST, port)):
                return  # nobody listens any more
        time.sleep(0.1)
    pytest.fail("the server still listens")


def test_server_that_stops_at_once_says_its_last_line(tmp_path, monkeypatch):
    script = "print('first'); print('no such option'); raise SystemExit(1)"
    monkeypatch.setattr(app, "command", lambda *_: ([sys.executable, "-c", script], ""))
    with pytest.raises(ShrinkageError, match="stopped before it answered: no such option"):
        app.serve("app", port=1 + app.PORTS["app"], jobs=tmp_path, opener=None)
