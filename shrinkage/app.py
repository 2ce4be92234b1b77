"""The notebooks in a browser: served as pages, or opened to be worked in.

Both serve this machine alone, and only to whoever has the token in the address that is printed.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
import webbrowser
from collections.abc import Callable
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import IO

from shrinkage.errors import ShrinkageError
from shrinkage.tables import JOBS

HOST = "127.0.0.1"
FIRST = "start.ipynb"
PORTS = {"app": 8866, "lab": 8888}
"""What the two servers use by their own custom."""
PACKAGES = {"app": "voila", "lab": "jupyterlab"}
COPIES = "shrinkage-notebooks"
"""Folder that `lab` copies an installed package's notebooks to, so that they can be changed."""
PATIENCE = 60.0
"""How long a server may take until it answers [s]."""


def notebooks_folder() -> Path:
    """Return the folder of the notebooks, in an installed package or in a source tree.

    Raises
    ------
    ShrinkageError
        If neither place holds them.
    """
    packed, beside = _places()
    for folder in (packed, beside):
        if (folder / FIRST).is_file():
            return folder
    raise ShrinkageError(f"notebooks not found: looked in {packed} and in {beside}")


def _places() -> tuple[Path, Path]:
    root = Path(str(files("shrinkage")))
    return root / "_notebooks", root.resolve().parent / "notebooks"


def working_copy(folder: Path) -> Path:
    """Copy the notebooks into a folder, none that is there replaced; return the folder.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.

    Raises
    ------
    ShrinkageError
        If it cannot be written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for notebook in sorted(notebooks_folder().glob("*.ipynb")):
            if not (folder / notebook.name).exists():
                shutil.copyfile(notebook, folder / notebook.name)
    except OSError as error:
        raise ShrinkageError(f"{folder}: cannot be written: {error.strerror}") from None
    return folder


def check_ready(kind: str, port: int) -> None:
    """Refuse to start without the package that serves, or on a port that is not free.

    Parameters
    ----------
    kind : {'app', 'lab'}
        What is to be started.
    port : int
        On the loopback address.

    Raises
    ------
    ShrinkageError
        With what to do about it, in one line.
    """
    package = PACKAGES[kind]
    if find_spec(package) is None:
        raise ShrinkageError(
            f"{kind} needs {package}, which is not installed; accepted: pip install "
            f"'shrinkage[{kind}]', then the same command again"
        )
    if not 0 < port < 65536:
        raise ShrinkageError(f"port {port}; accepted: 1 to 65535")
    with socket.socket() as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((HOST, port))
        except OSError as error:
            why = "in use" if error.errno == errno.EADDRINUSE else error.strerror
            raise ShrinkageError(
                f"port {port} on {HOST}: {why}; accepted: another, such as --port {port + 1}"
            ) from None


def command(kind: str, port: int, folder: Path, token: str) -> tuple[list[str], str]:
    """Return the command of a server, and the address of its first page.

    Parameters
    ----------
    kind : {'app', 'lab'}
        What is to be started.
    port : int
        On the loopback address.
    folder : Path
        Of the notebooks.
    token : str
        Without which the server answers nobody.
    """
    if kind == "app":
        own = ["voila", str(folder), f"--Voila.ip={HOST}", f"--Voila.token={token}"]
        place = f"voila/render/{FIRST}"
    else:
        own = ["jupyterlab", f"--ServerApp.root_dir={folder}", f"--ServerApp.ip={HOST}",
               f"--IdentityProvider.token={token}", "--ServerApp.port_retries=0"]  # fmt: skip
        own += ["--allow-root"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        place = f"lab/tree/{FIRST}"
    whole = [sys.executable, "-m", *own, "--no-browser", f"--port={port}"]
    return whole, f"http://{HOST}:{port}/{place}?token={token}"


def serve(
    kind: str,
    port: int | None = None,
    folder: Path | None = None,
    jobs: Path | None = None,
    opener: Callable[[str], bool] | None = webbrowser.open,
) -> None:
    """Serve the notebooks until stopped from the keyboard.

    Parameters
    ----------
    kind : {'app', 'lab'}
        As pages, or to be worked in.
    port : int, optional
        On the loopback address; the server's customary one otherwise.
    folder : Path, optional
        Where the notebooks to work in are, or are copied to.
    jobs : Path, optional
        Folder of the user's own job files; the current one otherwise.
    opener : callable, optional
        Opens an address in a browser and says whether it could; None opens none.

    Raises
    ------
    ShrinkageError
        If the package is missing, the port is taken, a folder is not there, or the server does not
        come up.
    """
    port = PORTS[kind] if port is None else port
    check_ready(kind, port)
    jobs = (jobs or Path()).resolve()
    if not jobs.is_dir():
        raise ShrinkageError(f"{jobs}: no such folder; accepted: a folder of job files")
    whole, address = command(kind, port, _served(kind, folder), secrets.token_urlsafe(24))
    with tempfile.TemporaryFile("w+") as log:
        server = subprocess.Popen(whole, stdout=log, stderr=subprocess.STDOUT,
                                  env=os.environ | {JOBS: str(jobs)})  # fmt: skip
        try:
            _wait(server, port, log)
            _announce(address, opener)
            server.wait()
        except KeyboardInterrupt:
            print("\nStopped.")
        finally:
            server.terminate()
            server.wait()


def _served(kind: str, folder: Path | None) -> Path:
    """Return the folder to serve: for work a place that is the user's own."""
    if kind == "app":
        return notebooks_folder()
    if folder is None and notebooks_folder() == _places()[1]:
        return notebooks_folder()  # a source tree: its notebooks are there to be worked in
    return working_copy((folder or Path(COPIES)).resolve())


def _wait(server: subprocess.Popen[bytes], port: int, log: IO[str]) -> None:
    """Wait until the server answers anything at all."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if server.poll() is not None:
            log.seek(0)
            last = [line.strip() for line in log if line.strip()][-1:] or ["it said nothing"]
            raise ShrinkageError(f"the server stopped before it answered: {last[0]}")
        try:
            urllib.request.urlopen(f"http://{HOST}:{port}/static/", timeout=2)
            return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.2)
    raise ShrinkageError(f"the server did not answer on port {port} within {PATIENCE:.0f} s")


def _announce(address: str, opener: Callable[[str], bool] | None) -> None:
    """Print the address, and open it where there is a browser."""
    print(f"Serving this machine only. Address, token included:\n\n    {address}\n")
    if opener is not None and not opener(address):
        print("No browser was found to open it in: copy the address into one.")
    print("Ctrl+C stops it.", flush=True)
