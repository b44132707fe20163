"""Opens the report of a run in a headless browser and uses it as a reader would.

    check_report.py FOLDER [--shots FOLDER]

Checked: nothing on the console, no request but for the file itself, the view in space drawn (its
pixels), the colours changed by the switch of quantity, values under the pointer and at the keys,
turning, the section plane, numbers of places apart and beside the part, the first screen in one piece,
the wheel, a tap whose words stay, a graphics context that is lost and comes back, a point of a chart
in the view, a body of the tank that leads to its row, the dark scheme, contrast of what is not text,
no scripts, no sideways scrolling on a phone, two pages of paper. With --shots the pictures looked at
by people are kept, with --axe FILE (axe.min.js) its rules must find nothing.
"""

import argparse
import base64
import json
import pathlib
import re
import sys
import tempfile

import numpy as np
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.common.actions.wheel_input import ScrollOrigin
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

sys.path.append(str(pathlib.Path(__file__).resolve().parents[1]))
from browser import browser

DESKTOP = (1440, 900)
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
    # As many areas as steps, and one border more.
    steps = legends[0].find_elements(By.CSS_SELECTOR, "rect.step")
    assert 1 <= len(steps) <= 7 and len(legends[0].find_elements(By.CSS_SELECTOR, "rect.area")) == len(steps)
    driver.execute_script("arguments[0].click()", switches[0])
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5, "switching back gives another view"
    check_hover(driver, summary)
    check_keys(driver, view)
    check_section(driver, view)
    check_numbers(driver)
    check_wheel(driver, view)
    check_lost(driver, view)
    check_charts(driver, view)


def check_numbers(driver):
    """The numbers of places lie beside the part, inside of the view, and not over each other."""
    numbers = driver.execute_script(
        "return [...document.querySelectorAll('#overlay .number')].map((c) => "
        "['cx', 'cy', 'r'].map((k) => Number(c.getAttribute(k))))"
    )
    places = driver.find_elements(By.CSS_SELECTOR, "#places li")
    assert len(numbers) == len(places) > 0, (numbers, len(places))
    left, right, width = driver.execute_script("""
        const view = document.getElementById("view");
        const small = document.createElement("canvas");
        small.width = view.clientWidth; small.height = view.clientHeight;
        const pen = small.getContext("2d");
        pen.drawImage(view, 0, 0, small.width, small.height);
        const { data } = pen.getImageData(0, 0, small.width, small.height);
        let ends = [small.width, 0];
        for (let n = 3; n < data.length; n += 4) if (data[n] > 200) {
          const x = ((n - 3) / 4) % small.width;
          ends = [Math.min(ends[0], x), Math.max(ends[1], x)];
        }
        return [...ends, small.width];
    """)
    assert 0 < left < right < width - 1, "the part is clipped"
    for n, (x, y, r) in enumerate(numbers):
        assert x + r <= left + 1 or x - r >= right - 1, f"number {n + 1} is over the part"
        assert r <= x <= width - r, f"number {n + 1} is clipped"
        for other in numbers[:n]:
            assert np.hypot(x - other[0], y - other[1]) > 2 * r, "numbers over each other"


def wheel(driver):
    canvas = driver.find_element(By.ID, "view")
    origin = ScrollOrigin.from_element(canvas)
    ActionChains(driver).scroll_from_origin(origin, 0, 200).perform()


def check_wheel(driver, view):
    """The wheel scrolls the page until the view has been clicked; then it zooms."""
    driver.execute_script("scrollTo(0, 0)")
    wheel(driver)
    WebDriverWait(driver, 5).until(lambda d: d.execute_script("return scrollY") > 50)
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5, "the wheel zooms without a click"
    driver.execute_script("scrollTo(0, 0)")
    canvas = driver.find_element(By.ID, "view")
    ActionChains(driver).move_to_element(canvas).click().perform()
    wheel(driver)
    assert float(np.abs(pixels(driver) - view).mean()) > 1.0, "the wheel does not zoom after a click"
    assert driver.execute_script("return scrollY") == 0, "the page scrolls while the view zooms"
    ActionChains(driver).send_keys("0").perform()
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5


def check_lost(driver, view):
    """What was on the graphics card is made anew."""
    back = driver.execute_async_script("""
        const done = arguments[0];
        const view = document.getElementById("view");
        const card = view.getContext("webgl2").getExtension("WEBGL_lose_context");
        view.addEventListener("webglcontextrestored", () => setTimeout(() => done(true), 300));
        card.loseContext();
        setTimeout(() => card.restoreContext(), 100);
        setTimeout(() => done(false), 5000);
    """)
    assert back, "the graphics context does not come back"
    assert float(np.abs(pixels(driver) - view).mean()) < 0.5, "another view after the loss"


def check_charts(driver, view):
    """A point of a chart along the work is shown in the view, and the other way round."""
    chart = driver.find_element(By.CSS_SELECTOR, "[id^=profile-] svg, [id^=line-] svg")
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", chart)
    ActionChains(driver).move_to_element(chart).perform()
    pixels(driver)
    assert "mm: " in chart.find_element(By.CSS_SELECTOR, ".cursor").text
    assert driver.find_elements(By.CSS_SELECTOR, "#overlay .spot"), "the place is not in the view"
    ActionChains(driver).move_to_element(driver.find_element(By.TAG_NAME, "h1")).perform()
    pixels(driver)
    assert not driver.find_elements(By.CSS_SELECTOR, "#overlay .spot")
    driver.execute_script("scrollTo(0, 0)")


def check_tank(driver):
    """A click on a body of the drawing finds its row."""
    link = driver.find_elements(By.CSS_SELECTOR, "svg.tank a")[-1]
    name = link.get_attribute("aria-label")
    driver.execute_script("arguments[0].dispatchEvent(new MouseEvent('click', {bubbles: true}))", link)
    row = driver.find_element(By.CSS_SELECTOR, "tr:target")
    assert name in row.text, (name, row.text)
    driver.execute_script("history.replaceState(null, '', location.pathname); scrollTo(0, 0)")


def check_first(driver):
    """The first screen holds the verdict, its rules, the change and the part, whole."""
    driver.execute_script("scrollTo(0, 0)")
    for what in ("#verdict", "#stage", "#scales"):
        box = driver.find_element(By.CSS_SELECTOR, what).rect
        assert box["y"] + box["height"] <= DESKTOP[1], f"{what} goes beyond the first screen"
    assert len(driver.find_elements(By.CSS_SELECTOR, "#verdict svg.rule")) == 3


# Colours of what is drawn and is no text, against the ground it lies on.
CONTRAST = """
const light = (c) => {
  const [r, g, b] = c.match(/[\\d.]+/g).map(Number).map((v) => v / 255)
    .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const ground = (e) => {
  for (let at = e; at; at = at.parentElement) {
    const c = getComputedStyle(at).backgroundColor;
    if (!/, 0\\)$/.test(c)) return c;
  }
  return "rgb(255, 255, 255)";
};
return arguments[0].flatMap(([selector, key]) => [...document.querySelectorAll(selector)].slice(0, 9).map((e) => {
  const [a, b] = [light(getComputedStyle(e)[key]), light(ground(e.parentElement))];
  return [selector, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05)];
}));
"""
DRAWN = [
    [".rule .line", "stroke"], [".rule .tick", "stroke"], [".rule .dot", "stroke"], [".rule .off", "fill"],
    [".rule .band", "fill"], [".scale .area", "fill"], [".lines [class^=s]", "stroke"], [".tank .wall", "stroke"],
    [".tank .water", "stroke"], ["fieldset", "borderTopColor"], ["button", "borderTopColor"],
    [".sign", "backgroundColor"],
]


def check_contrast(driver, scheme):
    for selector, contrast in driver.execute_script(CONTRAST, DRAWN):
        assert contrast >= 3.0, f"{scheme}: {selector} has a contrast of {contrast:.2f}"


def check_axe(driver, axe, what):
    if axe is None:
        return
    driver.execute_script(axe.read_text())
    found = driver.execute_async_script(
        "axe.run(document, {resultTypes: ['violations']}).then((r) => "
        "arguments[0](r.violations.map((v) => `${v.id} at ${v.nodes[0].target}`)))"
    )
    assert not found, f"{what}: {found}"


def check_dark(driver, axe, shots):
    media = {"features": [{"name": "prefers-color-scheme", "value": "dark"}]}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
    ground = driver.execute_script("return getComputedStyle(document.body).backgroundColor")
    assert max(map(int, re.findall(r"\d+", ground)[:3])) < 60, ground
    check_contrast(driver, "dark")
    check_axe(driver, axe, "dark")
    shoot(driver, shots, "dark", whole=True)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def check_tap(driver):
    """What a finger has read stays when it is lifted; two fingers shift the part."""
    driver.execute_script("document.getElementById('view').scrollIntoView({block: 'center'})")
    box = driver.execute_script(
        "const b = document.getElementById('view').getBoundingClientRect(); "
        "return [b.left + 0.5 * b.width, b.top + 0.5 * b.height]"
    )
    point = {"x": box[0], "y": box[1]}
    driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [point]})
    driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    tip = driver.find_element(By.ID, "tip")
    WebDriverWait(driver, 5).until(lambda _: tip.is_displayed())
    pixels(driver)
    assert tip.is_displayed() and tip.text, "the words go with the finger"
    # Two fingers shift: as much is coloured as before, elsewhere.
    before = pixels(driver)
    for kind, by in (("touchStart", 0), ("touchMove", 20), ("touchMove", 45), ("touchEnd", None)):
        points = [] if by is None else [
            {"x": box[0] + apart, "y": box[1] + by, "id": n} for n, apart in enumerate((-30, 30))
        ]
        driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    after = pixels(driver)
    assert float(np.abs(after - before).mean()) > 1.0, "two fingers do not shift"
    assert abs(colourful(after) / colourful(before) - 1.0) < 0.2, "two fingers turn or zoom"


def check_without_scripts(driver, address, shots):
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    driver.get(address)
    still = driver.find_element(By.ID, "poster")
    assert still.is_displayed() and still.rect["height"] > 200
    leaders = driver.find_elements(By.CSS_SELECTOR, "#poster .leader")
    assert leaders and len(leaders) == len(driver.find_elements(By.CSS_SELECTOR, "#places li"))
    assert not driver.find_element(By.ID, "stage").is_displayed()
    shoot(driver, shots, "no-scripts")
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


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


def use(driver, folder, shots, axe, most):
    summary = json.loads((folder / "summary.json").read_text())
    report = (folder / "report.html").resolve()
    size = report.stat().st_size
    assert size < most, f"report.html has {size} bytes"
    resize(driver, DESKTOP)
    driver.get(report.as_uri())
    stage = driver.find_element(By.ID, "stage")
    WebDriverWait(driver, 20).until(lambda _: stage.is_displayed())
    pixels(driver)
    shoot(driver, shots, "desktop")
    check_page(driver, summary)
    check_width(driver, "desktop")
    check_first(driver)
    check_view(driver, summary)
    check_tank(driver)
    check_contrast(driver, "light")
    check_axe(driver, axe, "desktop")
    shoot(driver, shots, "desktop-whole", whole=True)
    check_dark(driver, axe, shots)
    pages = printed(driver, shots, "print")
    assert pages == 2, f"printed on {pages} pages"
    resize(driver, PHONE, mobile=True)
    check_width(driver, "phone")
    check_axe(driver, axe, "phone")
    assert colourful(pixels(driver)) > 0.03
    check_tap(driver)
    shoot(driver, shots, "phone-whole", whole=True)
    resize(driver, DESKTOP)
    check_without_scripts(driver, report.as_uri(), shots)
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
    parser.add_argument("--axe", type=pathlib.Path, help="axe.min.js of axe-core")
    parser.add_argument("--most", type=float, default=2e6, help="bytes of the report, at most")
    args = parser.parse_args()
    if args.shots:
        args.shots.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as profile:
        driver = browser(profile)
        try:
            use(driver, args.folder, args.shots, args.axe, args.most)
            said = [e for e in driver.get_log("browser")]
            assert not said, f"the console says: {said}"
            asked = [u for u in requests(driver) if not u.startswith(("file:", "data:", "chrome"))]
            assert not asked, f"the page asked for {asked}"
        finally:
            driver.quit()
    print(f"{args.folder}: the report holds")


if __name__ == "__main__":
    sys.exit(main())
