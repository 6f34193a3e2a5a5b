"""Labels that the project prints, before the camera of a real browser and on photos that are sent to a station."""

from io import BytesIO

import numpy as np
import pytest
from photographs import photograph
from PIL import Image
from stations import CHROMIUM, QUIET, browsing

from pourbook.labels import Label, labels_pdf
from pourbook.labels.raster import rendered
from pourbook.labels.templates import template

CASK, VIAL = "C000001H", "V000001R"
SIZE = (1280, 720)
DPI = 300


def printed(code, hyphened, kind="vial", named="vial-roll-30x15"):
    """A label as it leaves the printer, in grey."""
    pdf = labels_pdf([Label(kind, code, hyphened)], template(named))
    return next(iter(rendered(pdf, DPI, check=lambda count, pixels: None))).convert("L")


def before_a_camera(label):
    """The label in the midst of the picture of a camera: a little turned, blurred and noisy."""
    seen = Image.fromarray(photograph(np.asarray(label), DPI, "tilt ±30°", np.random.default_rng(20260114)))
    seen.thumbnail((SIZE[0] * 2 // 3, SIZE[1] * 4 // 5))
    picture = Image.new("L", SIZE, 200)
    picture.paste(seen, ((SIZE[0] - seen.width) // 2, (SIZE[1] - seen.height) // 2))
    return picture


def clip(path, pictures):
    """A film of grey pictures: YUV4MPEG2, with colour planes of no colour."""
    width, height = SIZE
    flat = bytes([128]) * (width * height // 2)
    with path.open("wb") as film:
        film.write(f"YUV4MPEG2 W{width} H{height} F10:1 Ip A1:1 C420jpeg\n".encode())
        for picture in pictures:
            film.write(b"FRAME\n" + picture.tobytes() + flat)
    return path


@pytest.fixture(scope="module")
def before_camera(tmp_path_factory, chromium, open_house):
    """A page of a browser whose camera sees the label of a vial."""
    film = clip(tmp_path_factory.mktemp("film") / "label.y4m", [before_a_camera(printed(VIAL, "V-000001-R"))] * 5)
    fake = (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    )
    browser = chromium.browser_type.launch(executable_path=CHROMIUM, args=[*QUIET, *fake])
    try:
        with browsing(browser, open_house.url, permissions=["camera"]) as watched:
            watched.page.set_default_timeout(30_000)
            yield watched
            watched.clean()
    finally:
        browser.close()


def test_a_label_before_the_camera_is_scanned(before_camera):
    before_camera.goto("/camera")
    before_camera.page.wait_for_url(f"**/item/{VIAL}", wait_until="commit")
    assert "V-000001-R" in before_camera.heard("good")


def test_the_camera_opens_above_any_page_and_inside_a_task(before_camera):
    page = before_camera.page
    before_camera.goto("/scanner")
    page.click("[data-camera]")
    page.locator("#task", has_text=VIAL).wait_for()
    assert page.url.endswith("/scanner")
    assert page.is_visible("#camera video")
    page.keyboard.press("Escape")
    page.wait_for_selector("#camera", state="hidden")
    assert page.evaluate("document.activeElement.hasAttribute('data-camera')"), "the focus comes back"


def test_a_browser_that_reads_codes_itself_is_let(before_camera):
    """Of the three symbologies of our labels; the decoder that comes along is not asked for then."""
    page, asked = before_camera.page.context.new_page(), []
    page.on("request", lambda request: asked.append(request.url))
    page.add_init_script(
        """window.BarcodeDetector = class {
          static async getSupportedFormats() { return ["data_matrix", "qr_code", "code_128", "aztec"]; }
          constructor({ formats }) { this.formats = formats; }
          async detect() { return this.formats.includes("aztec") ? [] : [{ rawValue: "C000001H" }]; }
        };"""
    )
    page.goto(f"{before_camera.url}/camera")
    page.wait_for_url(f"**/item/{CASK}", wait_until="commit")
    assert [url for url in asked if "zxing" in url] == []
    page.close()


def test_where_no_camera_is_the_page_says_so_and_takes_a_photo(chromium, open_house):
    with browsing(chromium, open_house.url) as watched:
        watched.page.add_init_script("delete Navigator.prototype.mediaDevices")  # as on an address without encryption
        watched.goto("/camera")
        assert "Take a photo instead" in watched.page.inner_text("main .camera-state")
        photo = png(before_a_camera(printed(CASK, "C-000001-H", "cask", "cask-head-100x70")))
        watched.page.set_input_files("main [data-photo]", {"name": "a.png", "mimeType": "image/png", "buffer": photo})
        watched.page.wait_for_url(f"**/item/{CASK}", wait_until="commit")
        assert "C-000001-H" in watched.heard("good")
        watched.clean()


# -- photos ----------------------------------------------------------------------------------


def png(picture, kind="PNG"):
    content = BytesIO()
    picture.save(content, kind)
    return content.getvalue()


def shelf():
    """Two labels on one photo, and one whose item nobody knows."""
    picture = Image.new("L", (1600, 1800), 230)
    for row, (code, hyphened) in enumerate(((VIAL, "V-000001-R"), (CASK, "C-000001-H"), ("V000099H", "V-000099-H"))):
        label = printed(code, hyphened)
        picture.paste(label.resize((label.width * 3, label.height * 3)), (100, 50 + 580 * row))
    return picture


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_each_code_of_a_photo_is_answered_as_a_scan_is(caller, kind):
    answer = caller.post("/read-photo", files={"photo": ("shelf", png(shelf(), kind))})
    assert answer.status_code == 200
    codes = answer.json()["codes"]
    assert [code["item"] for code in codes] == [VIAL, CASK, None]
    assert [code["outcome"] for code in codes] == ["good", "good", "bad"]
    assert codes[1] == {"code": "]d1" + CASK} | caller.get(f"/scan?code={CASK}").json()


def test_a_photo_without_a_code_says_so(caller):
    answer = caller.post("/read-photo", files={"photo": ("wall", png(Image.new("L", (800, 600), 128)))})
    assert (answer.status_code, answer.json()["codes"]) == (200, [])
    assert "no code could be read" in answer.json()["said"]


def test_several_codes_on_a_photo_are_asked_about(chromium, open_house):
    with browsing(chromium, open_house.url) as watched:
        page = watched.page
        watched.goto("/")
        page.click("[data-camera]")
        page.set_input_files("#camera [data-photo]", {"name": "s.png", "mimeType": "image/png", "buffer": png(shelf())})
        page.locator("#camera .camera-codes button", has_text="C-000001-H").click()
        page.wait_for_url(f"**/item/{CASK}", wait_until="commit")
        watched.clean()


@pytest.mark.parametrize(
    ("size", "told"),
    [((10_000, 6_000), "60 million pixels; 50 million are read"), ((2, 70_000), "70,000 pixels across")],
)
def test_a_photo_of_too_many_pixels_is_refused_by_its_head(caller, size, told):
    """Both pack to a few kilobytes."""
    answer = caller.post("/read-photo", files={"photo": ("wall.png", png(Image.new("1", size)))})
    assert answer.status_code == 422
    assert told in answer.text


@pytest.mark.parametrize("content", [b"%PDF-1.7 ", b"hello", b"GIF89a" + bytes(40), b"\x89PNG\r\n\x1a\n", b""])
def test_what_is_no_photo_is_refused(caller, content):
    assert caller.post("/read-photo", files={"photo": ("a.png", content)}).status_code == 422


def test_more_than_ten_megabytes_are_not_taken_sent_in_pieces_or_not(caller):
    head = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.png"\r\n\r\n'
    whole = head + bytes(11_000_000) + b"\r\n--x--\r\n"
    kind = {"Content-Type": "multipart/form-data; boundary=x"}
    assert caller.post("/read-photo", content=whole, headers=kind).status_code == 413
    pieces = (whole[at : at + 65_536] for at in range(0, len(whole), 65_536))
    assert caller.post("/read-photo", content=pieces, headers=kind).status_code == 413
