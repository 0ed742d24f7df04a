"""Photos of a trial, made small and cleared of everything but the picture: no place, no time, no camera."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import replace
from pathlib import Path

from PIL import Image, ImageCms, ImageOps

from reportgen.message import say
from reportgen.read.sheet import FILE_NAME, StatedPhoto
from reportgen.trial import Finding, InputFile, Photo, Trial

#: A photo of a telephone has 2 to 12 MB; more than this is no photo of a trial [bytes] (ours).
LARGEST_FILE = 40_000_000
#: Telephones take up to 50 million pixels; a small file may claim far more than fit into memory [px] (ours).
LARGEST_PICTURE = 64_000_000
#: More than a reader looks at, and than a page that is mailed should carry (ours).
MOST_PHOTOS = 24
#: Longest side of the picture in the report [px]: sharp over a printed page, small to mail (ours).
LONGEST_SIDE = 1200
#: Bytes of one picture in the report, at most (ours).
LARGEST_PICTURE_FILE = 150_000
#: JPEG qualities, the first that is small enough is taken (ours).
QUALITIES = (80, 70, 60, 50, 40)
#: A picture that no quality makes small enough is made this much smaller, again and again (ours).
SHRINKING = 0.8
FORMATS = ("JPEG", "PNG", "WEBP")


def with_photos(trial: Trial, folder: Path) -> Trial:
    """Return the trial with the photos that its sheet names, read from its folder.

    A photo that cannot be read is a finding and no error: a report does not fail for a picture. The files that were
    read stand among the inputs.
    """
    findings: list[Finding] = []
    photos, inputs = [], []
    for stated in dict.fromkeys(trial.sheet.photos[:MOST_PHOTOS]):
        data = _bytes_of(folder, stated.file, findings)
        if data is None:
            continue
        inputs.append(InputFile(stated.file, hashlib.sha256(data).hexdigest(), 0))
        photo = _photo(stated, data, findings)
        if photo is not None:
            photos.append(photo)
    if len(trial.sheet.photos) > MOST_PHOTOS:
        message = say("a report shows at most {most} photos; the others are left out", most=MOST_PHOTOS)
        findings.append(Finding("note", "too-many-photos", message, FILE_NAME))
    if any(photo.people for photo in photos) and not trial.sheet.photo_consent:
        message = say(
            "a photo shows people and their consent is not recorded; ask them before the report is handed on, and "
            "write photo_consent = true"
        )
        findings.append(Finding("caution", "photo-without-consent", message, FILE_NAME))
    return replace(
        trial,
        photos=tuple(photos),
        inputs=(*trial.inputs, *dict.fromkeys(inputs)),
        findings=(*trial.findings, *findings),
    )


def _bytes_of(folder: Path, name: str, findings: list[Finding]) -> bytes | None:
    """Return the bytes of a photo; None, with a finding, where it is not there, leads out of the folder or is huge."""
    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()):
        message = say("this is a link to a file outside the folder and is not read; put the file itself there")
        findings.append(Finding("error", "link-outside", message, name))
        return None
    if not path.is_file():
        message = say("the photo that {sheet} names is not there", sheet=FILE_NAME)
        findings.append(Finding("caution", "photo-missing", message, name))
        return None
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        message = say("the photo cannot be read: {error}", error=error.strerror or "no reason given")
        findings.append(Finding("caution", "photo-not-read", message, name))
        return None
    if len(data) > LARGEST_FILE:
        message = say("the photo has more than {most} MB and is left out; save it smaller", most=LARGEST_FILE // 10**6)
        findings.append(Finding("caution", "photo-too-large", message, name))
        return None
    return data


def _photo(stated: StatedPhoto, data: bytes, findings: list[Finding]) -> Photo | None:
    """Return the small picture of a photo; None, with a finding, where the bytes are no picture or too large a one."""
    try:
        with warnings.catch_warnings():
            # What a camera writes wrongly beside the picture is thrown away; Pillow would warn of it.
            warnings.simplefilter("ignore")
            picture = small_picture(data)
    except TooManyPixelsError:
        message = say(
            "the picture has more than {most} million pixels and is left out; save it smaller",
            most=LARGEST_PICTURE // 10**6,
        )
        findings.append(Finding("caution", "photo-too-large", message, stated.file))
        return None
    except Exception:  # a decoder of foreign bytes fails in many ways, and all of them mean one thing
        message = say("this is no whole JPEG, PNG or WebP picture and is left out; save it anew as JPEG")
        findings.append(Finding("caution", "photo-not-read", message, stated.file))
        return None
    jpeg, width, height = picture
    return Photo(stated.file, stated.caption.strip(), stated.people, jpeg, width, height)


class TooManyPixelsError(Exception):
    """A picture claims more pixels than are decoded."""


def small_picture(data: bytes) -> tuple[bytes, int, int]:
    """Return a picture as a small upright sRGB JPEG that holds nothing but its pixels, and its width and height [px].

    Equal bytes give equal bytes, with the same version of Pillow.

    Raises
    ------
    TooManyPixelsError
        If it claims more than `LARGEST_PICTURE` pixels; nothing of it is decoded then.
    Exception
        Of many kinds, if the bytes are no whole picture of one of `FORMATS`.
    """
    try:
        image: Image.Image = Image.open(io.BytesIO(data), formats=FORMATS)
    except Image.DecompressionBombError as error:
        raise TooManyPixelsError from error
    with image:
        if image.width * image.height > LARGEST_PICTURE:
            raise TooManyPixelsError
        # A JPEG is decoded at a half, a quarter or an eighth of its size where that is enough.
        image.draft(None, (LONGEST_SIDE, LONGEST_SIDE))
        profile = image.info.get("icc_profile")
        upright = ImageOps.exif_transpose(_eight_bits(image))
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
    plain = _on_white(_in_srgb(upright, profile))
    # Pixels alone go into a new picture, so that no comment or thumbnail of the old one can come along.
    clean = Image.frombytes("RGB", plain.size, plain.tobytes())
    return _smallest(clean)


def _eight_bits(image: Image.Image) -> Image.Image:
    """Return a picture of 16 or more bits a pixel as one of eight, others as they are."""
    if image.mode.startswith("I"):
        eight = image.convert("I").point(lambda value: value / 256).convert("L")
        eight.info = dict(image.info)
        return eight
    return image


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return a picture with its colours in sRGB; a profile that cannot be used changes nothing."""
    if not profile:
        return image
    alpha = image.getchannel("A") if "A" in image.getbands() else None
    colours = image.convert("RGB") if image.mode not in ("RGB", "CMYK", "L") else image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(colours, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image
    if turned is None:
        return image
    if alpha is not None:
        turned.putalpha(alpha)
    return turned


def _on_white(image: Image.Image) -> Image.Image:
    """Return a picture as RGB; what is transparent becomes white, as the paper is."""
    if not image.has_transparency_data:
        return image.convert("RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("RGB")


def _smallest(image: Image.Image) -> tuple[bytes, int, int]:
    """Return a picture as JPEG of at most `LARGEST_PICTURE_FILE` bytes, with its size [px]."""
    while True:
        for quality in QUALITIES:
            file = io.BytesIO()
            image.save(file, "JPEG", quality=quality, optimize=True)
            if file.tell() <= LARGEST_PICTURE_FILE:
                return file.getvalue(), image.width, image.height
        size = (max(1, int(image.width * SHRINKING)), max(1, int(image.height * SHRINKING)))
        image = image.resize(size, Image.Resampling.LANCZOS)
