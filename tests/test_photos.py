"""Photos: small, upright, without a trace of where and when; foreign or hostile files are findings."""

from __future__ import annotations

import hashlib
import io
import struct
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, PngImagePlugin

from reportgen import photos
from reportgen.photos import LARGEST_PICTURE_FILE, LONGEST_SIDE, small_picture, with_photos
from reportgen.read.folder import read_trial
from reportgen.trial import Trial


def picture(width: int = 60, height: int = 40) -> Image.Image:
    """Return a picture whose upper half is red and whose lower half is blue."""
    pixels = np.zeros((height, width, 3), dtype=np.uint8)
    pixels[: height // 2, :, 0] = 255
    pixels[height // 2 :, :, 2] = 255
    return Image.fromarray(pixels)


def jpeg(image: Image.Image, **options: object) -> bytes:
    file = io.BytesIO()
    image.save(file, "JPEG", **options)
    return file.getvalue()


def png(image: Image.Image, **options: object) -> bytes:
    file = io.BytesIO()
    image.save(file, "PNG", **options)
    return file.getvalue()


def from_a_camera() -> bytes:
    """Return a JPEG as a telephone writes it: turned on its side, with place, time, owner, comment and XMP."""
    exif = Image.Exif()
    exif[0x0112] = 6  # turn by 90 degrees to the right
    exif[0x010F] = "SECRETmaker"
    exif[0x013B] = "SECRETartist"
    exif.get_ifd(0x8825).update({1: "S", 2: (4.0, 2.0, 33.25), 3: "E", 4: (39.0, 40.0, 11.5)})
    exif.get_ifd(0x8769)[0x9003] = "2026:03:14 09:05:00"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return jpeg(picture(), exif=exif, comment=b"SECRETcomment", xmp=b"<x>SECRETxmp</x>", icc_profile=profile)


def bomb() -> bytes:
    """Return a PNG of a few kilobytes that claims 400 million pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 20_000, 20_000, 8, 0, 0, 0, 0)
    rows = zlib.compress(bytes(20_001) * 20)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def trial_with(tmp_path: Path, files: dict[str, bytes], lines: str) -> Trial:
    folder = tmp_path / "trial"
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    folder.mkdir(exist_ok=True)
    (folder / "trial.toml").write_text(f'title = "t"\n{lines}\n', encoding="utf-8")
    return with_photos(read_trial(folder), folder)


def codes(trial: Trial) -> list[tuple[str, str, str | None]]:
    return [(finding.level, finding.code, finding.file) for finding in trial.findings]


def test_a_photo_of_a_camera_becomes_upright_and_says_nothing_but_its_picture() -> None:
    data = from_a_camera()
    assert b"SECRETmaker" in data
    assert b"SECRETcomment" in data
    small, width, height = small_picture(data)
    assert (width, height) == (40, 60)
    with Image.open(io.BytesIO(small)) as image:
        # Turned to the right, what was above is on the right.
        left, right = image.convert("RGB").getpixel((5, 30)), image.convert("RGB").getpixel((35, 30))
        assert image.format == "JPEG"
        assert dict(image.getexif()) == {}
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert left[2] > 200 > 100 > left[0]
    assert right[0] > 200 > 100 > right[2]
    for trace in (b"SECRET", b"Exif", b"2026:03:14", b"ICC_PROFILE", b"http"):
        assert trace not in small
    segments = [small[at + 1] for at in range(len(small) - 1) if small[at] == 0xFF and 0xE0 <= small[at + 1] <= 0xFE]
    assert segments == [0xE0], "only the header that every JPEG has"
    assert small_picture(data)[0] == small


def test_colours_of_another_profile_are_turned_to_srgb() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    assert small_picture(png(picture(), icc_profile=lab.tobytes()))[1:] == (60, 40)
    assert small_picture(png(picture(), icc_profile=b"no profile at all"))[1:] == (60, 40)


def test_a_large_photo_becomes_small() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (1700, 2600, 3), dtype=np.uint8)
    small, width, height = small_picture(jpeg(Image.fromarray(noise), quality=90))
    assert len(small) <= LARGEST_PICTURE_FILE
    assert max(width, height) <= LONGEST_SIDE
    assert width / height == pytest.approx(2600 / 1700, rel=0.01)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16", "CMYK"])
def test_pictures_of_all_kinds_are_read(mode: str) -> None:
    if mode == "I;16":
        data = png(Image.fromarray(np.full((8, 8), 40_000, dtype=np.uint16)))
    elif mode == "CMYK":
        data = jpeg(picture().convert("CMYK"))
    else:
        data = png(picture(8, 8).convert("RGBA" if mode == "LA" else "RGB").convert(mode))
    small, _, _ = small_picture(data)
    with Image.open(io.BytesIO(small)) as image:
        assert image.mode == "RGB"
        if mode == "I;16":
            assert image.getpixel((4, 4))[0] == pytest.approx(40_000 / 256, abs=3)


def test_what_is_transparent_becomes_white_and_texts_of_a_png_go() -> None:
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", "SECRETauthor", zip=True)
    small, _, _ = small_picture(png(Image.new("RGBA", (8, 8), (0, 0, 0, 0)), pnginfo=words))
    assert b"SECRET" not in small
    with Image.open(io.BytesIO(small)) as image:
        assert image.getpixel((4, 4)) == (255, 255, 255)


def test_webp_is_read() -> None:
    file = io.BytesIO()
    picture().save(file, "WEBP")
    assert small_picture(file.getvalue())[1:] == (60, 40)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"this is a text, whatever its name says\n" * 40, "photo-not-read"),
        (b"", "photo-not-read"),
        (jpeg(picture(400, 300))[:1500], "photo-not-read"),
        (png(picture(400, 300))[:600], "photo-not-read"),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "photo-not-read"),
        (bomb(), "photo-too-large"),
    ],
    ids=["text", "empty", "truncated jpeg", "truncated png", "foreign format", "bomb"],
)
def test_what_is_no_photo_is_a_finding(tmp_path: Path, data: bytes, code: str) -> None:
    trial = trial_with(tmp_path, {"ice.jpg": data, "good.png": png(picture())}, 'photos = ["ice.jpg", "good.png"]')
    assert codes(trial) == [("caution", code, "ice.jpg")]
    assert [photo.file for photo in trial.photos] == ["good.png"]
    assert trial.inputs[-1].sha256 == hashlib.sha256(png(picture())).hexdigest()


def test_a_huge_file_is_not_read_into_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "LARGEST_FILE", 100)
    trial = trial_with(tmp_path, {"ice.png": png(picture())}, 'photos = ["ice.png"]')
    assert codes(trial) == [("caution", "photo-too-large", "ice.png")]
    assert len(trial.inputs) == 1


def test_a_photo_that_is_missing_or_no_file_is_a_finding(tmp_path: Path) -> None:
    trial = trial_with(tmp_path, {"photos/ice.jpg": jpeg(picture())}, 'photos = ["photos/none.jpg", "photos"]')
    assert codes(trial) == [("caution", "photo-missing", "photos/none.jpg"), ("caution", "photo-missing", "photos")]


def test_links_out_of_the_folder_are_not_followed(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "private.jpg").write_bytes(jpeg(picture()))
    (tmp_path / "trial").mkdir()
    try:
        (tmp_path / "trial" / "ice.jpg").symlink_to(elsewhere / "private.jpg")
        (tmp_path / "trial" / "photos").symlink_to(elsewhere)
    except OSError:
        pytest.skip("this machine makes no symbolic links")
    trial = trial_with(tmp_path, {}, 'photos = ["ice.jpg", "photos/private.jpg"]')
    assert codes(trial) == [("error", "link-outside", "ice.jpg"), ("error", "link-outside", "photos/private.jpg")]
    assert trial.photos == ()


def test_people_on_a_photo_ask_for_their_consent(tmp_path: Path) -> None:
    line = 'photos = [{ file = "ice.jpg", caption = " The tray ", people = true }]'
    trial = trial_with(tmp_path, {"ice.jpg": jpeg(picture())}, line)
    assert codes(trial) == [("caution", "photo-without-consent", "trial.toml")]
    assert [(photo.caption, photo.people) for photo in trial.photos] == [("The tray", True)]
    assert codes(trial_with(tmp_path, {}, f"{line}\nphoto_consent = true")) == []


def test_no_more_photos_than_a_reader_looks_at(tmp_path: Path) -> None:
    names = [f"{n}.jpg" for n in range(photos.MOST_PHOTOS + 1)]
    trial = trial_with(tmp_path, dict.fromkeys(names, jpeg(picture())), f"photos = {names}".replace("'", '"'))
    assert len(trial.photos) == photos.MOST_PHOTOS
    assert codes(trial) == [("note", "too-many-photos", "trial.toml")]


def test_photos_of_a_telephone_take_no_time() -> None:
    data = jpeg(Image.linear_gradient("L").resize((4000, 3000)).convert("RGB"), quality=85)
    start = time.process_time()
    small_picture(data)
    # Some 0.1 s where it was written; a picture of 12 million pixels that is decoded in full takes far longer.
    assert time.process_time() - start < 2
