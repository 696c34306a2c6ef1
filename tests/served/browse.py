"""
Sit a served set in a real browser, and keep pictures: `python tests/served/browse.py LINK FOLDER`.

Needs selenium and a Chromium with its driver. Prints how long the first picture took, and what the page asked for.
"""

import shutil
import sys
import time
from pathlib import Path

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains


def browser(width: int = 1200, height: int = 800) -> webdriver.Chrome:
    """Return a headless Chromium."""
    options = webdriver.ChromeOptions()
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", f"--window-size={width},{height}"):
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    # The driver is named, so that the library looks for none elsewhere.
    return webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))


def main() -> None:
    """Open the link, answer by keys, keep a picture of each moment, and try the link again."""
    link, folder = sys.argv[1], Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    driver = browser()
    start = time.monotonic()
    driver.get(link)
    while "-first-byte" not in (driver.find_element("tag name", "body").get_attribute("class") or ""):
        time.sleep(0.05)
    print(f"first output after {time.monotonic() - start:.2f} s")
    time.sleep(2.5)
    driver.save_screenshot(str(folder / "1-question.png"))
    for number, keys in enumerate(("b", "\ue007", "c", "\ue007"), 2):
        ActionChains(driver).send_keys(keys).perform()
        time.sleep(1.5)
        driver.save_screenshot(str(folder / f"{number}.png"))
    asked = driver.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    print("asked for", *sorted(set(asked)), sep="\n  ")
    for row in driver.get_log("browser"):
        print(row["level"], row["message"])
    driver.quit()
    other = browser()
    other.get(link)
    print("the link again:", other.find_element("tag name", "p").text)
    other.save_screenshot(str(folder / "used-link.png"))
    other.quit()


if __name__ == "__main__":
    main()
