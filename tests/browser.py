"""The headless browser of the checks, with the view in space on the processor; it asks for nothing by itself."""

from selenium import webdriver


def browser(profile, downloads=None):
    """Chromium with an own profile, its console and requests logged; what it saves goes to `downloads`."""
    options = webdriver.ChromeOptions()
    for flag in [
        "--headless=new", "--no-sandbox", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
        "--hide-scrollbars", f"--user-data-dir={profile}",
    ]:
        options.add_argument(flag)
    if downloads is not None:
        options.add_experimental_option("prefs", {"download.default_directory": str(downloads)})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options, service=webdriver.ChromeService("/usr/bin/chromedriver"))
