"""The sheet in a real browser: what it asks for, what overlaps, how it prints, on a phone, a desktop and paper."""

import base64
import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from calls import Call
from drawbar.report.sheet.geometry import width_px
from paths import EXAMPLES
from sheet_jobs import DATE, HOSTILE_TITLE, TINY, hostile_job, large_job

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = pytest.mark.skipif(
    BROWSER is None or DRIVER is None, reason="needs chromium and chromedriver on the PATH, as Debian packages them"
)

MOST_PAGES = 3
PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
PRINTED_PX = 718  # the width of A4 inside the page's own margins, at 96 px an inch
JOBS = ("tiny", "trailer", "market", "large-5", "large-13", "stages-8", "hostile", "open", "short")

# Every box of text that is seen: [text, left, top, right, bottom].
BOXES = """
const boxes = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode, parent = node.parentElement;
  if (!node.data.trim() || parent.closest('.unseen, svg title, svg desc')) continue;
  const range = document.createRange();
  range.selectNodeContents(node);
  const seen = new Set();  // a header that is repeated in the next column is told twice at one place
  for (const box of range.getClientRects()) {
    const place = [box.left, box.top, box.right, box.bottom];
    if (box.width > 0 && box.height > 0 && !seen.has(String(place)))
      boxes.push([node.data.trim().slice(0, 40), ...place]);
    seen.add(String(place));
  }
}
return boxes;
"""
# Of every text that is seen: [text, red, green, blue of its colour].
COLOURS = """
const colours = [];
for (const element of document.querySelectorAll('body, body *')) {
  const own = [...element.childNodes].some(node => node.nodeType === 3 && node.data.trim());
  if (!own || element.closest('svg title, svg desc')) continue;
  const style = getComputedStyle(element);
  const colour = element.closest('svg') ? style.fill : style.color;
  colours.push([element.textContent.trim().slice(0, 40), ...colour.match(/[\\d.]+/g).map(Number)]);
}
return colours;
"""


@pytest.fixture(scope="module")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Start the browser once for all, with nothing kept from before and nothing fetched of its own accord."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER or ""
    for flag in (
        *("headless=new", "disable-gpu", "disable-quic", "no-first-run", "disable-background-networking"),
        *("disable-component-update", "disable-sync", f"user-data-dir={tmp_path_factory.mktemp('profile')}"),
        *(["no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []),
    ):
        options.add_argument(f"--{flag}")
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    started = webdriver.Chrome(options=options, service=Service(DRIVER))
    yield started
    started.quit()


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Write the sheets of a small job, plug-in jobs, jobs of 30 runs and a hostile one."""
    folder = tmp_path_factory.mktemp("sheets")
    market = folder / "market.yaml"
    market.write_bytes((EXAMPLES / "market-kitchen-open.yaml").read_bytes())
    run = [sys.executable, "-m", "drawbar"]
    subprocess.run([*run, "size", "--write", str(market)], check=True, capture_output=True)
    trailer = (EXAMPLES / "harvest-fair-trailer.yaml").read_text(encoding="utf-8")
    unknown = re.sub(r", +(devices: \[.*\]|capacity: [^,}]*)(?=[,}])", "", trailer)
    assert trailer.count("devices:") == 3
    assert "devices:" not in unknown
    assert "capacity:" not in unknown
    texts = {
        "tiny": TINY,
        "trailer": trailer,
        "open": unknown,
        "short": unknown.replace("as1432-b/15.88", "as1432-b/9.52"),
        "market": market.read_text(encoding="utf-8"),
        "large-5": large_job(5),
        "large-13": large_job(13),
        "stages-8": large_job(8, stages=True),
        "hostile": hostile_job(),
    }
    pages = {}
    for name, text in texts.items():
        job, pages[name] = folder / f"{name}.yaml", folder / f"{name}.html"
        job.write_text(text, encoding="utf-8")
        call = [*run, "sheet", str(job), "-o", str(pages[name]), "--date", DATE]
        ended = subprocess.run(call, check=False, capture_output=True)
        assert ended.returncode in (0, 1, 3)
        assert ended.stderr == b""
    return pages


def opened(driver: Any, file: Path, wide_px: int, *, media: str = "screen") -> None:
    """Open a page at a width, on a screen or as for print."""
    mobile = wide_px < 600
    size = {"width": wide_px, "height": 900, "deviceScaleFactor": 1, "mobile": mobile}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media})
    driver.get(file.as_uri())


def overlaps(boxes: list[list[Any]]) -> list[tuple[str, str]]:
    """Return the texts whose boxes share more than half a px each way."""
    pairs = []
    boxes = sorted(boxes, key=lambda box: box[2])
    for number, (text, left, _, right, bottom) in enumerate(boxes):
        for other, other_left, other_top, other_right, other_bottom in boxes[number + 1 :]:
            if other_top >= bottom - 0.5:
                break
            deep = min(bottom, other_bottom) - other_top
            if deep > 0.5 and min(right, other_right) - max(left, other_left) > 0.5:
                pairs.append((text, other))
    return pairs


@pytest.mark.parametrize("name", JOBS)
def test_it_opens_without_an_error_or_a_request(driver: Any, sheets: dict[str, Path], name: str) -> None:
    """From a file: one request, for itself, and an empty console; no script and no image is in it."""
    driver.get("about:blank")
    driver.get_log("performance")
    driver.get_log("browser")
    opened(driver, sheets[name], 1280)
    sent = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    asked = [
        message["params"]["request"]["url"] for message in sent if message["method"] == "Network.requestWillBeSent"
    ]
    assert asked == [sheets[name].as_uri()]
    assert driver.get_log("browser") == []
    assert driver.execute_script("return [document.scripts.length, document.images.length]") == [0, 0]


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize(("wide_px", "media"), [(390, "screen"), (1280, "screen"), (PRINTED_PX, "print")])
def test_no_text_overlaps_another(driver: Any, sheets: dict[str, Path], name: str, wide_px: int, media: str) -> None:
    """On a phone, a desktop and paper no box of text is on another, and the page is no wider than it may be."""
    opened(driver, sheets[name], wide_px, media=media)
    boxes = driver.execute_script(BOXES)
    assert len(boxes) > 100
    assert overlaps(boxes) == []
    assert driver.execute_script("return document.documentElement.scrollWidth") <= wide_px
    if media == "print":
        assert [box[0] for box in boxes if box[3] > wide_px + 0.5] == []


@pytest.mark.parametrize("name", JOBS)
def test_it_prints_on_three_pages(driver: Any, sheets: dict[str, Path], name: str) -> None:
    """At most three pages of A4; on Letter, which is shorter, at most one more; each has its number."""
    opened(driver, sheets[name], 1280)
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    for paper, (wide_in, tall_in) in PAPERS_IN.items():
        printed = driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": wide_in, "paperHeight": tall_in})
        pages = PdfReader(io.BytesIO(base64.b64decode(printed["data"]))).pages
        assert len(pages) <= (MOST_PAGES if paper == "A4" else MOST_PAGES + 1)
        for number, page in enumerate(pages, 1):
            assert f"Page {number} of {len(pages)}" in page.extract_text()
            assert float(page.mediabox.width) == pytest.approx(wide_in * 72.0, abs=1.0)


@pytest.mark.parametrize("name", ["large-5", "hostile"])
def test_the_text_is_dark_enough(driver: Any, sheets: dict[str, Path], name: str) -> None:
    """Every text has a contrast of 7 to 1 with the white page (WCAG 2.2, 1.4.6); the formula is that of WCAG."""
    opened(driver, sheets[name], 1280)
    page = "return getComputedStyle(document.documentElement).backgroundColor"
    assert driver.execute_script(page) == "rgb(255, 255, 255)"

    def part(value: float) -> float:
        value /= 255.0
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    for text, red, green, blue, *_ in driver.execute_script(COLOURS):
        luminance = 0.2126 * part(red) + 0.7152 * part(green) + 0.0722 * part(blue)
        assert 1.05 / (luminance + 0.05) >= 7.0, text


def test_labels_take_no_more_room_than_was_reckoned(driver: Any, sheets: dict[str, Path]) -> None:
    """The width that the layout takes for a label is that of the browser's fonts or more, and not much more."""
    opened(driver, sheets["large-5"], 1280)
    script = "return [...document.querySelectorAll('.wide text')].map(text => [text.textContent, "
    script += "getComputedStyle(text).fontWeight, text.getComputedTextLength()])"
    measured = driver.execute_script(script)
    assert len(measured) > 150
    for text, weight, real_px in measured:
        reckoned_px = width_px(text, bold=weight == "700")
        assert real_px <= reckoned_px <= 1.35 * real_px + 2.0, text


def test_hostile_text_is_seen_as_it_was_written(driver: Any, sheets: dict[str, Path]) -> None:
    """The title is text in the head of the page and in its tab."""
    opened(driver, sheets["hostile"], 1280)
    assert driver.execute_script("return document.querySelector('h1').textContent") == HOSTILE_TITLE
    assert driver.execute_script("return document.title") == f"{HOSTILE_TITLE}: gas line sheet"


def test_pdf_is_printed_by_the_command(tmp_path: Path, drawbar: Callable[..., Call]) -> None:
    """`--format pdf` writes a PDF of at most three pages with the figures of the sheet."""
    out = tmp_path / "sheet.pdf"
    call = ("sheet", str(EXAMPLES / "harvest-fair-trailer.yaml"), "-o", str(out), "--format", "pdf", "--date", DATE)
    assert drawbar(*call) == (0, "", "")
    pages = PdfReader(out).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert len(pages) <= MOST_PAGES
    for words in ("Harvest-fair food trailer", "Q-0117", DATE, "2.587", "AS/NZS 5601.2:2020"):
        assert words in text
