"""A real server and a real browser for the tests, or a plain reason why there is none."""

import atexit
import re
import shutil
import subprocess
import sys
import tempfile
import threading
from contextlib import contextmanager
from pathlib import Path

import pytest

_LISTENING = re.compile(r"ws://\S+")
_OPENING = re.compile(r"http://127\.0\.0\.1:\d+/open\?token=\S+")
# How long anything on the page may take before a test gives up: a fresh machine compiles the search's kernels first.
PATIENCE_S = 300
NOT_WANTED = (
    "gpu", "dev-shm-usage", "extensions", "component-update", "background-networking", "background-timer-throttling",
    "backgrounding-occluded-windows", "renderer-backgrounding", "default-apps", "sync",
)  # fmt: skip
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


def need_browser():
    """Return the driver, or skip the test with the reason."""
    if CHROMIUM is None:
        pytest.skip("no Chromium on this machine; `apt-get install chromium` brings it")
    return pytest.importorskip("playwright.sync_api", reason="the browser driver is missing; install the test extra")


@contextmanager
def served(folder: Path):
    """Run `sheetwood desk` on `folder` and give (process, opening address)."""
    command = [sys.executable, "-m", "nesting", "desk", str(folder), "--no-browser"]
    root = Path(__file__).parents[3]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, encoding="utf-8", cwd=root)
    try:
        yield process, _address(process)
    finally:
        process.terminate()
        process.wait(timeout=60)
        process.stderr.close()


def _address(process):
    said = []
    while (line := process.stderr.readline()) and not _OPENING.search(line):
        said.append(line)
    assert line, f"the desk printed no address: {''.join(said)}"
    # What else it says must be read, or it would wait for a reader.
    threading.Thread(target=process.stderr.read, daemon=True).start()
    return _OPENING.search(line)[0]


@contextmanager
def browser_page(*, size=(1366, 768)):
    """Give a fresh page of a headless browser that fails the test on any script error."""
    driver = need_browser()
    faults = []
    with driver.sync_playwright() as playwright:
        browser = playwright.chromium.connect_over_cdp(running_browser())
        width, height = size
        context = browser.new_context(viewport={"width": width, "height": height}, accept_downloads=True)
        context.set_default_timeout(PATIENCE_S * 1000)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if "Content Security" in message.text else None)
        yield page
        context.close()
        browser.close()
    assert faults == []


_running: list[tuple[subprocess.Popen, str]] = []


def running_browser():
    """Return the address of the one browser of these tests; each page has a context, and so a profile, of its own."""
    if not _running or _running[-1][0].poll() is not None:
        profile = Path(tempfile.mkdtemp(prefix="sheetwood-browser-"))
        quiet = [f"--disable-{what}" for what in NOT_WANTED]
        started = subprocess.Popen(
            [CHROMIUM, "--headless", "--no-sandbox", "--no-first-run", "--hide-scrollbars", "--mute-audio",
             "--force-color-profile=srgb", *quiet, "--remote-debugging-port=0", f"--user-data-dir={profile}"],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, encoding="utf-8",
        )  # fmt: skip
        address = next((found[0] for line in started.stderr if (found := _LISTENING.search(line))), None)
        assert address is not None, "the browser did not say where it listens"
        threading.Thread(target=started.stderr.read, daemon=True).start()
        _running.append((started, address))
        atexit.register(_ended, started, profile)
    return _running[-1][1]


def _ended(process, profile):
    process.terminate()
    process.wait(timeout=60)
    shutil.rmtree(profile, ignore_errors=True)
