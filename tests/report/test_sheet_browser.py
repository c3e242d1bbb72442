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
from sheet_jobs import DATE, EIGHT, HOSTILE_TITLE, LOGO, hostile_job, large_job

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = pytest.mark.skipif(
    BROWSER is None or DRIVER is None, reason="needs chromium and chromedriver on the PATH, as Debian packages them"
)

MOST_PAGES = {"trailer": 2, "eight": 2}  # of A4 and of Letter; of all other jobs
OTHERS_MOST_PAGES = 5
PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
PHONE_PX = 360
PRINTED_PX = 718  # the width of A4 inside the page's own margins, at 96 px an inch
JOBS = ("trailer", "eight", "market", "large-5", "stages-8", "hostile", "short")

# Every box of text that is seen: [text, left, top, right, bottom].
BOXES = """
const boxes = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode, parent = node.parentElement;
  if (!node.data.trim() || parent.closest('.unseen, svg title, svg desc, details:not([open])')) continue;
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


# Of every text that is seen: [text, whether it is drawn, size in px as it is printed].
SIZES = """
const sizes = [];
for (const element of document.querySelectorAll('body *')) {
  const own = [...element.childNodes].some(node => node.nodeType === 3 && node.data.trim());
  if (!own || element.closest('svg title, svg desc, .unseen, style, details')) continue;
  if (!element.getClientRects().length) continue;
  const svg = element.closest('svg.drawing');
  const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
  const px = parseFloat(getComputedStyle(element).fontSize) * scale;
  sizes.push([element.textContent.trim().slice(0, 40), Boolean(svg), px]);
}
return sizes;
"""
UNFOLD = "document.querySelectorAll('details').forEach(each => { each.open = true; })"
SCHEME = "prefers-color-scheme"
AXE = """
const runOnly = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
axe.run(document, {runOnly}).then(result => ({
  passes: result.passes.length,
  violations: result.violations.map(each => [each.id, each.nodes.slice(0, 3).map(node => node.html.slice(0, 120))]),
}))
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
        "trailer": trailer,
        "eight": EIGHT.replace("workshop: {", "workshop: {logo: logo.svg, "),
        "short": unknown.replace("as1432-b/15.88", "as1432-b/9.52"),
        "market": market.read_text(encoding="utf-8"),
        "large-5": large_job(5),
        "stages-8": large_job(8, stages=True),
        "hostile": hostile_job(),
    }
    (folder / "logo.svg").write_text(LOGO, encoding="utf-8")
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
    assert [url for url in asked if not url.startswith("data:image/")] == [sheets[name].as_uri()]
    assert driver.get_log("browser") == []
    pictures = 1 if name == "eight" else 0
    assert driver.execute_script("return [document.scripts.length, document.images.length]") == [0, pictures]
    shown = "return [...document.images].every(image => image.naturalWidth > 0 && image.src.startsWith('data:image/'))"
    assert driver.execute_script(shown)


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize(
    ("wide_px", "media"), [(PHONE_PX, "screen"), (768, "screen"), (1280, "screen"), (PRINTED_PX, "print")]
)
def test_no_text_overlaps_another(driver: Any, sheets: dict[str, Path], name: str, wide_px: int, media: str) -> None:
    """On a phone, a desktop and paper no box of text is on another, and the page is no wider than it may be."""
    opened(driver, sheets[name], wide_px, media=media)
    if media == "screen":
        driver.execute_script(UNFOLD)
    boxes = driver.execute_script(BOXES)
    assert len(boxes) > 100
    assert overlaps(boxes) == []
    assert driver.execute_script("return document.documentElement.scrollWidth") <= wide_px
    if media == "print" or wide_px == PHONE_PX:  # nothing is cut, nor to be scrolled to
        assert [box[0] for box in boxes if box[3] > wide_px + 0.5] == []


@pytest.mark.parametrize("name", ["trailer", "eight", "large-5", "stages-8", "hostile"])
def test_how_many_pages_it_prints_on(driver: Any, sheets: dict[str, Path], name: str) -> None:
    """A trailer prints on two pages of A4 and of Letter, each more than half full; every page has its number."""
    opened(driver, sheets[name], 1280)
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    for wide_in, tall_in in PAPERS_IN.values():
        printed = driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": wide_in, "paperHeight": tall_in})
        pages = PdfReader(io.BytesIO(base64.b64decode(printed["data"]))).pages
        assert len(pages) <= MOST_PAGES.get(name, OTHERS_MOST_PAGES)
        texts = [page.extract_text() for page in pages]
        for number, (page, text) in enumerate(zip(pages, texts, strict=True), 1):
            assert f"Page {number} of {len(pages)}" in text
            assert float(page.mediabox.width) == pytest.approx(wide_in * 72.0, abs=1.0)
        if name in MOST_PAGES:
            assert min(text.count("\n") for text in texts) > 40
        whole = "\n".join(texts)
        assert "What this sheet was made from" not in whole  # what is folded in stays in the file
        for text in texts:  # the head of a form stands on the page of its first row
            assert ("Lock-up and working pressure" in text) == ("inlet, " in text)


@pytest.mark.parametrize("name", ["trailer", "eight", "large-5"])
def test_printed_text_is_no_smaller_than_nine_points(driver: Any, sheets: dict[str, Path], name: str) -> None:
    """All but the drawings' labels, which are drawn to be 7 points or more on A4."""
    opened(driver, sheets[name], PRINTED_PX, media="print")
    sizes = driver.execute_script(SIZES)
    assert len(sizes) > 100
    assert [text for text, is_drawn, px in sizes if px * 0.75 < (7.0 if is_drawn else 8.99)] == []


@pytest.mark.parametrize("name", ["eight", "hostile", "short"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_keeps_to_the_accessibility_guidelines(driver: Any, sheets: dict[str, Path], name: str, scheme: str) -> None:
    """By axe-core: WCAG 2.0 to 2.2, A and AA, and its best practices, all that is folded in unfolded."""
    axe = Path(pytest.importorskip("axe_playwright_python").__file__).with_name("axe.min.js")
    opened(driver, sheets[name], 1280)
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"media": "screen", "features": [{"name": SCHEME, "value": scheme}]}
    )
    driver.execute_script(UNFOLD)
    driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe.read_text(encoding="utf-8")})
    run = driver.execute_cdp_cmd("Runtime.evaluate", {"expression": AXE, "awaitPromise": True, "returnByValue": True})
    assert "exceptionDetails" not in run
    result = run["result"]["value"]
    assert result["violations"] == []
    assert result["passes"] > 20


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
    """A name that ends in .pdf makes a PDF of two pages with the figures of the sheet."""
    out = tmp_path / "sheet.pdf"
    call = ("sheet", str(EXAMPLES / "harvest-fair-trailer.yaml"), "-o", str(out), "--date", DATE)
    assert drawbar(*call) == (0, "", "")
    pages = PdfReader(out).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert len(pages) == 2
    for words in ("Harvest-fair food trailer", "Q-0117", DATE, "2.587", "AS/NZS 5601.2:2020"):
        assert words in text
