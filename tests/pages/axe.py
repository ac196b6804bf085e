"""What axe-core finds wrong on a page, in a real browser. Needs what tests/report/test_browser.py needs."""

from __future__ import annotations

from pathlib import Path

from tests.report.test_browser import AXE, SAY, seen

_RUN = SAY + """
  axe.run(document, {resultTypes: ['violations']}).then(found => say({
    passed: found.passes.length,
    wrong: found.violations.map(one => [one.impact, one.id, one.nodes.map(node => node.html.slice(0, 120))])}))
    .catch(error => say({passed: 0, wrong: [['critical', String(error), []]]}));"""


def serious(folder: Path, page: str, width: int) -> list[object]:
    """Its serious and critical findings on a page of a width; an error where it has tested hardly anything."""
    found = seen(folder, page, width, _RUN, AXE.read_text(encoding="utf-8").replace("</script", "<\\/script"))
    assert found["passed"] > 10
    return [one for one in found["wrong"] if one[0] in ("serious", "critical")]
