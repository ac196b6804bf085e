"""The page in a real browser: pages when printed, width on a phone, and accessibility.

Needs Chromium and the file axe.min.js of the npm package axe-core, at the path in AXE_CORE or in node_modules:

    apt-get install chromium; npm install --no-save axe-core

Letter paper is ANSI A, 8.5 by 11 in. Serious findings are those that axe-core calls serious or critical.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from html import escape, unescape
from pathlib import Path
from typing import Any

import pytest

from tests.report.pages import dangerous_report, demo_report, lone_report

ROOT = Path(__file__).parents[2]
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
AXE = Path(os.environ.get("AXE_CORE") or ROOT / "node_modules" / "axe-core" / "axe.min.js")
PHONE, DESK = 360, 1100

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: `apt-get install chromium`, or its "
                                   "path in CHROMIUM")
needs_axe = pytest.mark.skipif(not AXE.is_file(), reason="no axe.min.js here: `npm install --no-save axe-core`, or "
                               "its path in AXE_CORE")
PAGES = pytest.mark.parametrize("page", [demo_report, lone_report, dangerous_report],
                                ids=["before and after", "one visit", "dangers"])


def chromium(folder: Path, *words: str) -> str:
    """What Chromium prints when it is run without a window."""
    quiet = ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
             "--disable-component-update", "--disable-sync", f"--user-data-dir={folder / 'profile'}")
    done = subprocess.run([str(CHROMIUM), *quiet, *words], capture_output=True, text=True, timeout=180, check=True)
    return done.stdout


def seen(folder: Path, page: str, width: int, script: str, library: str = "") -> Any:
    """What a script says of the page in a frame of a width: the page runs as it is, with the script at its end."""
    inner = page.replace("</body>", f"<script>{library}</script><script>{script}</script></body>")
    outer = folder / "outer.html"
    outer.write_text(f"<!DOCTYPE html><title>frame</title><pre id=said></pre>"
                     f'<iframe style="border:0;width:{width}px;height:40000px" srcdoc="{escape(inner)}"></iframe>',
                     encoding="utf-8")
    dom = chromium(folder, "--window-size=1400,3200", "--virtual-time-budget=60000", "--dump-dom", outer.as_uri())
    said = re.search(r'<pre id="said">(.+?)</pre>', dom, re.DOTALL)
    assert said is not None, "the script said nothing"
    return json.loads(unescape(said[1]))


SAY = "const say = value => { parent.document.getElementById('said').textContent = JSON.stringify(value); };"


def printed(folder: Path, page: str) -> bytes:
    (folder / "page.html").write_text(page, encoding="utf-8")
    pdf = folder / "page.pdf"
    chromium(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", (folder / "page.html").as_uri())
    return pdf.read_bytes()


@needs_browser
@PAGES
def test_the_customers_page_is_one_letter_page_and_the_whole_report_few(tmp_path: Path, page: Callable[..., str]
                                                                       ) -> None:
    for names, most in ((["customer"], 1), ([], 7)):
        paper = printed(tmp_path, page(names))
        assert 1 <= len(re.findall(rb"/Type\s*/Page\b", paper)) <= most
        boxes = [[float(one) for one in box.split()] for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", paper)]
        assert boxes
        assert all(box == [0.0, 0.0, 612.0, 792.0] for box in boxes)  # 8.5 by 11 in. at 72 points an inch


@needs_browser
@PAGES
@pytest.mark.parametrize("width", [PHONE, 320])
def test_nothing_sticks_out_on_a_phone(tmp_path: Path, page: Callable[[], str], width: int) -> None:
    script = SAY + """
      const wide = [...document.querySelectorAll('body *')].filter(one => one.getBoundingClientRect().right >
        document.documentElement.clientWidth + 1).map(one => one.outerHTML.slice(0, 80));
      const text = [...document.querySelectorAll('p, li, td, th, dd')];
      say({inner: document.documentElement.clientWidth, scroll: document.documentElement.scrollWidth, wide,
           small: Math.min(...text.map(one => parseFloat(getComputedStyle(one).fontSize)))});"""
    found = seen(tmp_path, page(), width, script)
    assert found["inner"] == width
    assert found["scroll"] <= width
    assert found["wide"] == []
    assert found["small"] >= 12  # px


@needs_browser
@needs_axe
@PAGES
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_accessibility_has_no_serious_finding(tmp_path: Path, page: Callable[[], str], width: int) -> None:
    script = SAY + """
      axe.run(document, {resultTypes: ['violations']}).then(found => say({
        passed: found.passes.length,
        wrong: found.violations.map(one => [one.impact, one.id, one.nodes.map(node => node.html.slice(0, 120))])}))
        .catch(error => say({passed: 0, wrong: [['critical', String(error), []]]}));"""
    found = seen(tmp_path, page(), width, script, AXE.read_text(encoding="utf-8").replace("</script", "<\\/script"))
    assert found["passed"] > 10  # it did look
    assert [one for one in found["wrong"] if one[0] in ("serious", "critical")] == []


@needs_browser
@needs_axe
def test_the_check_finds_what_is_wrong(tmp_path: Path) -> None:
    """The check above can fail: a page without a language or a name, with text too pale to read."""
    page = '<!DOCTYPE html><html><body><p style="color:#ddd">pale</p><img src="data:,"></body></html>'
    script = SAY + "axe.run(document).then(found => say(found.violations.map(one => one.id)));"
    found = seen(tmp_path, page, DESK, script, AXE.read_text(encoding="utf-8").replace("</script", "<\\/script"))
    assert {"html-has-lang", "image-alt", "color-contrast"} <= set(found)
