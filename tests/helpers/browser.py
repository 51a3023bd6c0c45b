"""A real browser for the tests of viewer and page: headless Chromium, every request and fault kept."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

FLAGS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
NAMES = ("chromium", "chromium-browser", "google-chrome")
# What Chromium's software GL says when a test reads pixels back; no fault of the page.
SOFT_GL = "GPU stall due to ReadPixels"
ROOM = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
MOVING = {"reduced_motion": "no-preference"}


def chromium_path() -> str:
    """Return where Chromium is; skip without one, but fail where CI promises it."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        assert not os.environ.get("CI"), "no Chromium, though .ci/run installs it"
        pytest.skip("no Chromium here; Debian: apt-get install chromium")
    return found


@dataclass
class Watch:
    """What happened on a page: addresses asked for, errors, requests under way now and at most."""

    requests: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    under_way: int = 0
    most: int = 0

    def begin(self, address: str) -> None:
        """Count a request."""
        self.requests.append(address)
        self.under_way += 1
        self.most = max(self.most, self.under_way)

    def end(self) -> None:
        """Count its end."""
        self.under_way -= 1

    def say(self, kind: str, text: str) -> None:
        """Keep what the console says where it is a fault; a refused question is no fault of the script."""
        refused = "the server responded with a status of" in text
        if kind in ("error", "warning") and SOFT_GL not in text and not refused:
            self.faults.append(f"{kind}: {text}")


@contextmanager
def browser() -> Iterator[Any]:
    """Yield a browser."""
    from playwright.sync_api import sync_playwright

    path = chromium_path()
    with sync_playwright() as driver:
        one = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield one
        one.close()


def close_all(one: Any) -> None:
    """Close every page: one that is left open goes on drawing and slows the next test."""
    for context in one.contexts:
        context.close()


def opened(
    one: Any, address: str, *, room: dict[str, int] = ROOM, ready: str = "#modes button", **more: Any
) -> tuple[Any, Watch]:
    """Return a page of its own context at an address, ``ready`` to be seen, and what happens on it.

    It stands still until it is told to play: drawing without a card takes the processor from everything else.
    ``**MOVING`` lets it move at once.
    """
    script = more.pop("script", None)
    page = one.new_context(viewport=room, **({"reduced_motion": "reduce"} | more)).new_page()
    watch = Watch()
    page.on("request", lambda request: watch.begin(request.url))
    page.on("requestfinished", lambda _: watch.end())
    page.on("requestfailed", lambda _: watch.end())
    page.on("console", lambda message: watch.say(message.type, message.text))
    page.on("pageerror", lambda error: watch.faults.append(str(error)))
    if script:
        page.add_init_script(script)
    page.goto(address)
    page.wait_for_selector(ready)
    return page, watch


def drawn(page: Any) -> str:
    """Return the canvas as it is now, as text."""
    return str(page.evaluate("document.getElementById('solid').toDataURL()"))


def settle(page: Any) -> None:
    """Wait until the browser has painted twice."""
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def until(page: Any, expression: str, *, longest_s: float = 60.0) -> None:
    """Wait until an expression is true; the page's policy forbids the driver's own way of waiting."""
    end = time.monotonic() + longest_s
    while not page.evaluate(expression):
        assert time.monotonic() < end, f"never true within {longest_s} s: {expression}"
        page.wait_for_timeout(20)


def still(page: Any) -> None:
    """Stop the movement at full swing, so that pictures can be compared."""
    if page.inner_text("#play") == "Pause":
        page.click("#play")
    page.evaluate("window.scrollTo(0, 0)")
    settle(page)


REACH = """() => [...document.querySelectorAll(
  'button, input, select, summary, canvas[tabindex], a[href]')].filter((one) => {
    const group = one.type === 'radio' && !one.checked;
    return one.checkVisibility() && !one.disabled && !group;
  }).map((one) => { one.dataset.reach ??= String(Math.random()); return one.dataset.reach; })"""


def reached_by_tab(page: Any) -> tuple[set[str], set[str]]:
    """Return the controls there are, and those that the Tab key comes to."""
    wanted = set(page.evaluate(REACH))
    page.evaluate("document.activeElement.blur()")
    met = set()
    for _ in range(2 * len(wanted) + 5):
        page.keyboard.press("Tab")
        met.add(page.evaluate("document.activeElement?.dataset?.reach ?? ''"))
        if wanted <= met:
            break
    return wanted, met


def axe_findings(page: Any) -> list[str]:
    """Return everything that the accessibility checker axe finds, however small it calls it."""
    from axe_core_python.sync_playwright import Axe

    found = Axe().run(page)["violations"]
    return [f"{one['id']}: {one['help']} {one['nodes'][0]['html'][:120]}" for one in found]
