"""Scanning tags with a phone, in a real browser: with a reader of codes in it, without one, without scripts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import segno
from PIL import Image
from playwright.sync_api import Page

from portal.domain.tags import tag_of
from tests.browser.conftest import PHONE, Person
from tests.cast import Cast

# Chromium on Linux has no reader of square codes and this machine no camera, so both stand in: a moving drawing for the camera,
# and a reader that finds its code in the third picture.
WITH_READER = """
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 64;
    const pen = canvas.getContext("2d");
    setInterval(() => pen.fillRect(0, 0, Math.random() * 64, 64), 30);
    const devices = navigator.mediaDevices;
    window.ended = 0;
    devices.getUserMedia = async (asked) => {
        window.asked = asked;
        const stream = canvas.captureStream();
        for (const track of stream.getTracks()) {
            const stop = track.stop.bind(track);
            track.stop = () => { sessionStorage.setItem("ended", "yes"); stop(); };
        }
        return stream;
    };
    let looked = 0;
    window.BarcodeDetector = class {
        static async getSupportedFormats() { return ["qr_code"]; }
        async detect(source) {
            if (source.videoWidth !== 64) throw new Error("not a picture of the camera");
            looked += 1;
            return looked < 3 ? [] : [{ rawValue: "https://rillbook.example/tag/%s" }];
        }
    };
"""


def wait_until(page: Page, told: str) -> None:
    """Ask again and again: the page's policy lets nobody evaluate text within it."""
    for _ in range(100):
        if page.evaluate(told):
            return
        page.wait_for_timeout(100)
    raise AssertionError(told)


def photo_of(tag: str, path: Path) -> Path:
    """A large photo with the code of a tag in it, larger than what is sent as it is."""
    segno.make(f"https://rillbook.example/tag/{tag}", micro=False).save(str(path), scale=20, border=4)
    table = Image.effect_noise((3000, 2400), 60).convert("RGB")
    table.paste(Image.open(path).convert("RGB"), (900, 700))
    photo = path.with_suffix(".jpg")
    table.save(photo, "JPEG", quality=92)
    assert 2_000_000 < photo.stat().st_size < 15_000_000
    return photo


@pytest.mark.parametrize("with_scripts", [True, False])
def test_a_photo_is_read_with_scripts_and_without(
    browse: Callable[..., Person], cast: Cast, tmp_path: Path, with_scripts: bool
) -> None:
    bench = browse(cast.tina, viewport=PHONE, scripts=with_scripts)
    page = bench.go("/shop/scan/camera")
    opener = page.get_by_role("button", name="Open the camera")
    assert not opener.is_visible()
    # Only a script can know, and it says so plainly.
    assert ("This browser does not read codes from the camera by itself." in bench.words) is with_scripts
    photo = photo_of(tag_of(cast.pair_id), tmp_path / "photo.png")
    page.set_input_files("input[type=file]", photo)
    if with_scripts:
        # Made smaller before it is sent over a phone's line.
        half = photo.stat().st_size // 2
        wait_until(page, f"document.querySelector('input[type=file]').files[0].size < {half}")
    bench.press("Read the photo")
    assert page.url.split("?")[0].endswith(f"/shop/pair/{cast.pair_id}")
    bench.follow("Scan the next tag")
    assert page.url.endswith("/shop/scan/camera")


def test_the_camera_reads_a_tag_where_the_browser_can(browse: Callable[..., Person], cast: Cast) -> None:
    bench = browse(cast.tina, viewport=PHONE)
    bench.page.add_init_script(WITH_READER % tag_of(cast.pair_id))
    page = bench.go("/shop/scan/camera")
    page.get_by_role("button", name="Open the camera").click()
    page.wait_for_url("**/shop/pair/*")
    bench.look()
    assert page.url.split("?")[0].endswith(f"/shop/pair/{cast.pair_id}")
    # The camera is given back.
    assert page.evaluate("sessionStorage.getItem('ended')") == "yes"


def test_what_is_seen_is_said_aloud(browse: Callable[..., Person], cast: Cast) -> None:
    bench = browse(cast.tina, viewport=PHONE)
    bench.page.add_init_script(WITH_READER % tag_of(cast.pair_id))
    page = bench.go("/shop/scan/camera")
    page.evaluate(
        """() => {
            window.said = [];
            const told = document.querySelector("[data-told]");
            new MutationObserver(() => window.said.push(told.textContent)).observe(told, { childList: true });
            document.querySelector("main form").requestSubmit = () => {};
        }"""
    )
    assert page.locator("[data-told]").get_attribute("role") == "status"
    page.get_by_role("button", name="Open the camera").click()
    wait_until(page, "window.said.length === 2")
    assert page.evaluate("window.said") == [
        "Looking for a tag. Hold the square code before the camera.",
        f"Scanned: {tag_of(cast.pair_id)}",
    ]
    assert page.evaluate("window.asked.video.facingMode") == "environment"
    bench.look()


def test_a_camera_that_is_refused_is_told(browse: Callable[..., Person], cast: Cast) -> None:
    bench = browse(cast.tina, viewport=PHONE)
    bench.page.add_init_script(WITH_READER % "")
    bench.page.add_init_script(
        "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError'); };"
    )
    page = bench.go("/shop/scan/camera")
    page.get_by_role("button", name="Open the camera").click()
    page.get_by_text("The camera could not be opened.").wait_for()
    assert page.get_by_role("button", name="Open the camera").is_visible()
