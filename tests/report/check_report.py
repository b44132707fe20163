"""Opens the report of a run in a headless browser and uses it as a reader would.

    check_report.py FOLDER [--shots FOLDER]

Checked: nothing on the console, no request but for the file itself, the view in space drawn (its
pixels), the colours changed by the switch of quantity, values under the pointer and at the keys,
turning, the section plane, no sideways scrolling on a phone, a page for printing. With --shots
the pictures looked at by people are kept.
"""

import argparse
import base64
import json
import pathlib
import re
import sys
import tempfile

import numpy as np
from selenium import webdriver
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

DESKTOP = (1280, 900)
PHONE = (390, 844)

# Red, green, blue, opacity of the view, shrunk to 64 x 48, after the next drawing.
PIXELS = """
const done = arguments[0];
requestAnimationFrame(() => requestAnimationFrame(() => {
  const small = document.createElement("canvas");
  small.width = 64; small.height = 48;
  const pen = small.getContext("2d");
  pen.drawImage(document.getElementById("view"), 0, 0, 64, 48);
  done([...pen.getImageData(0, 0, 64, 48).data]);
}));
"""


def browser(profile):
    options = webdriver.ChromeOptions()
    for flag in [
        "--headless=new", "--no-sandbox", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
        "--hide-scrollbars", f"--user-data-dir={profile}",
    ]:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService("/usr/bin/chromedriver")
    return webdriver.Chrome(options=options, service=service)


def resize(driver, size, mobile=False):
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
        "width": size[0], "height": size[1], "deviceScaleFactor": 1,
        "mobile": mobile,
    })


def pixels(driver):
    flat = driver.execute_async_script(PIXELS)
    return np.array(flat, dtype=float).reshape(48, 64, 4)


def requests(driver):
    """Addresses asked for, from the protocol log."""
    for entry in driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            yield message["params"]["request"]["url"]


def colourful(view):
    """Share of the pixels that have a colour of the maps (not grey, not clear)."""
    opaque = view[:, :, 3] > 200
    spread = view[:, :, :3].max(axis=2) - view[:, :, :3].min(axis=2)
    return float((opaque & (spread > 30)).mean())


def check_view(driver, summary):
    view = pixels(driver)
    share = colourful(view)
    assert share > 0.08, f"only {share:.1%} of the view is coloured"
    seen = {tuple(p) for p in (view[:, :, :3] // 32).reshape(-1, 3)}
    assert len(seen) > 12, f"only {len(seen)} colours in the view"
    switches = driver.find_elements(By.CSS_SELECTOR, "#quantities input")
    assert len(switches) >= 2
    # The second quantity has a map or a scale of its own; the last surely has.
    driver.execute_script("arguments[0].click()", switches[-1])
    other = pixels(driver)
    change = float(np.abs(other - view).mean())
    assert change > 1.0, f"the switch of quantity changed the view by {change:.2f} of 255"
    legends = driver.find_elements(By.CSS_SELECTOR, ".legend:not([hidden])")
    assert len(legends) == 1 and legends[0].is_displayed()
    driver.execute_script("arguments[0].click()", switches[0])
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5, "switching back gives another view"
    check_hover(driver, summary)
    check_keys(driver, view)
    check_section(driver, view)


def check_hover(driver, summary):
    """The value under the pointer is one the summary allows, and its place is on the work."""
    canvas = driver.find_element(By.ID, "view")
    work = next(b for b in summary["bodies"] if b["role"] == "work")
    size = canvas.size
    read = 0
    for across in (-0.15, 0.0, 0.12):
        ActionChains(driver).move_to_element_with_offset(
            canvas, int(across * size["width"]), int(0.05 * size["height"])
        ).perform()
        pixels(driver)
        tip = driver.find_element(By.ID, "tip")
        if not tip.is_displayed():
            continue
        lines = tip.text.splitlines()
        if lines[0] == "not plated here":
            continue
        found = re.match(r"thickness ([\d.]+) (µm|mm)$", lines[0])
        assert found, lines
        metres = float(found[1]) * {"µm": 1e-6, "mm": 1e-3}[found[2]]
        low, high = (work["thickness_m"][k] for k in ("min", "max"))
        assert 0.99 * low <= metres <= 1.01 * high, (lines, low, high)
        assert any(line.startswith("current density ") for line in lines), lines
        assert lines[-1].startswith(work["name"]) and lines[-1].endswith(" mm"), lines
        status = driver.find_element(By.ID, "readout").text
        assert lines[0] in status, (lines, status)
        read += 1
    assert read > 0, "no value was read under the pointer"


def check_keys(driver, view):
    canvas = driver.find_element(By.ID, "view")
    driver.execute_script("arguments[0].focus()", canvas)
    ActionChains(driver).send_keys(Keys.ARROW_LEFT * 4).perform()
    assert float(np.abs(pixels(driver) - view).mean()) > 2.0, "arrow keys do not turn the part"
    ActionChains(driver).send_keys("0").perform()
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5, "0 does not go back"
    status = driver.find_element(By.ID, "readout").text
    assert " at " in status and "mm" in status, status


def check_section(driver, view):
    box = driver.find_element(By.ID, "show-section")
    driver.execute_script("arguments[0].click()", box)
    assert float(np.abs(pixels(driver) - view).mean()) > 1.0, "the section does not show"
    driver.execute_script("arguments[0].click()", box)


def check_page(driver, summary):
    text = driver.find_element(By.TAG_NAME, "body").text
    verdict = driver.find_element(By.ID, "verdict").text
    judged = summary["verdict"]
    shown = driver.find_element(By.ID, "verdict").get_attribute("class")
    assert shown == judged["state"], (shown, judged["state"])
    heads = {"good": "Thick enough", "bad": "Not thick enough"}
    assert heads.get(judged["metal"]["state"], "") in verdict, verdict
    for word in ("limiting current", "kWh", "A h"):
        assert word in text, f"no {word!r} in the page"
    for figure in ("conductivity", "published", "worked out here"):
        assert figure in text, f"no {figure!r} among the figures of the bath"
    for drawing in driver.find_elements(By.CSS_SELECTOR, ".drawing"):
        assert drawing.get_attribute("aria-label") and drawing.size["height"] > 100
    names = driver.execute_script(
        "return [...document.querySelectorAll('input, button, canvas')].filter("
        "(e) => !(e.getAttribute('aria-label') || e.textContent.trim() || "
        "(e.labels && e.labels.length))).length"
    )
    assert names == 0, f"{names} controls have no name"


def check_width(driver, what):
    wide = driver.execute_script(
        "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    assert wide <= 0, f"{what}: the page is {wide} pixels too wide"


def shoot(driver, folder, name, whole=False):
    if folder is None:
        return
    options = {"format": "png"}
    if whole:
        size = driver.execute_cdp_cmd("Page.getLayoutMetrics", {})["cssContentSize"]
        options |= {"captureBeyondViewport": True, "clip": {**size, "x": 0, "y": 0, "scale": 1}}
    shot = driver.execute_cdp_cmd("Page.captureScreenshot", options)["data"]
    (folder / f"{name}.png").write_bytes(base64.b64decode(shot))


def printed(driver, folder, name):
    pdf = driver.execute_cdp_cmd("Page.printToPDF", {"printBackground": False})["data"]
    content = base64.b64decode(pdf)
    if folder is not None:
        (folder / f"{name}.pdf").write_bytes(content)
    return content.count(b"/Type /Page\n") or len(re.findall(rb"/Type\s*/Page\b", content))


def use(driver, folder, shots):
    summary = json.loads((folder / "summary.json").read_text())
    report = (folder / "report.html").resolve()
    size = report.stat().st_size
    assert size < 12e6, f"report.html has {size} bytes"
    resize(driver, DESKTOP)
    driver.get(report.as_uri())
    stage = driver.find_element(By.ID, "stage")
    WebDriverWait(driver, 20).until(lambda _: stage.is_displayed())
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", stage)
    pixels(driver)
    shoot(driver, shots, "desktop")
    check_page(driver, summary)
    check_width(driver, "desktop")
    check_view(driver, summary)
    shoot(driver, shots, "desktop-whole", whole=True)
    pages = printed(driver, shots, "print")
    assert 2 <= pages <= 12, f"printed on {pages} pages"
    resize(driver, PHONE, mobile=True)
    check_width(driver, "phone")
    assert colourful(pixels(driver)) > 0.03
    shoot(driver, shots, "phone-whole", whole=True)
    if (folder / "job-sheet.html").exists():
        resize(driver, DESKTOP)
        driver.get((folder / "job-sheet.html").resolve().as_uri())
        shoot(driver, shots, "sheet", whole=True)
        pages = printed(driver, shots, "sheet")
        assert pages == 1, f"the job sheet takes {pages} pages"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--shots", type=pathlib.Path)
    args = parser.parse_args()
    if args.shots:
        args.shots.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as profile:
        driver = browser(profile)
        try:
            use(driver, args.folder, args.shots)
            said = [e for e in driver.get_log("browser")]
            assert not said, f"the console says: {said}"
            asked = [u for u in requests(driver) if not u.startswith(("file:", "data:", "chrome"))]
            assert not asked, f"the page asked for {asked}"
        finally:
            driver.quit()
    print(f"{args.folder}: the report holds")


if __name__ == "__main__":
    sys.exit(main())
