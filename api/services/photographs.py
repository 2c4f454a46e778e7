"""Photographs: what they are is found out from their content, and they are written anew.

A file is looked at before it is decoded (kind, size of the picture), decoded whole, and written as
a new file from the decoded picture. So nothing of the file itself is kept: no place, no maker's
notes, no comments, and nothing hidden behind the picture.
"""

from __future__ import annotations

import io
import re
import threading
import warnings
from dataclasses import dataclass

from PIL import Image, ImageCms, ImageOps

from leastwise.graph.errors import LeastwiseError

__all__ = [
    "MOST_BYTES",
    "MOST_PIXELS",
    "SMALL_EDGE",
    "STAGES",
    "Photograph",
    "PhotographError",
    "checked_photograph",
    "name_of",
    "small_picture",
]

MEBIBYTE = 1024 * 1024
MOST_BYTES = 20 * MEBIBYTE
MOST_PIXELS = 60_000_000
MOST_EDGE = 30_000  # of a JPEG no edge may be over 65 535; a banner's panorama stays below this
MOST_PROFILE = 64 * 1024
SMALL_EDGE = 480
STAGES = ("before", "during", "after")
ACCEPTED = "a JPEG, PNG or WebP picture of at most 20 MiB and 60 megapixels"
READ_AS = ("JPEG", "PNG", "WEBP")

Image.MAX_IMAGE_PIXELS = MOST_PIXELS
#: One picture is decoded at a time, so that several uploads can't use up the memory together.
_ONE_AT_A_TIME = threading.Lock()
_BRANDS_OF_HEIC = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")


class PhotographError(LeastwiseError):
    """A file that isn't kept: which, what is wrong, what is accepted."""

    def __init__(self, name: str, wrong: str, accepted: str = ACCEPTED) -> None:
        self.name, self.wrong, self.accepted = name, wrong, accepted
        super().__init__(f"{name}: {wrong}; expected {accepted}.")


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture written anew; *media_type* is image/jpeg or image/png, sizes are in pixels."""

    data: bytes
    media_type: str
    width: int
    height: int


def checked_photograph(name: str, data: bytes) -> Photograph:
    """Return the picture in *data*, written anew without anything but the picture.

    JPEG stays JPEG and PNG stays PNG; WebP becomes JPEG, or PNG where it has see-through places,
    since not every document can hold WebP. *name* is only used to name the file in an error.

    Raises:
        PhotographError: the file is empty, too large, of another kind, moving or damaged.

    """
    if not data:
        raise PhotographError(name, "the file is empty")
    if len(data) > MOST_BYTES:
        raise PhotographError(name, "the file is over 20 MiB")
    _refuse_by_kind(name, data)
    with _ONE_AT_A_TIME, warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            return _written_anew(name, data)
        except PhotographError:
            raise
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise _too_many_pixels(name) from error
        except Exception as error:  # a decoder may fail in any way on a file made to harm
            raise PhotographError(
                name, "the picture is damaged or cut short and can't be read to its end"
            ) from error


def small_picture(data: bytes) -> bytes:
    """Return a JPEG of at most 480 pixels along its longer edge, of a picture that was checked."""
    with _ONE_AT_A_TIME, Image.open(io.BytesIO(data), formats=("JPEG", "PNG")) as image:
        profile = image.info.get("icc_profile")
        image.draft("RGB", (SMALL_EDGE, SMALL_EDGE))
        small = _on_white(image).copy()
        small.thumbnail((SMALL_EDGE, SMALL_EDGE))
    out = io.BytesIO()
    small.info = {}
    small.save(out, "JPEG", quality=82, icc_profile=profile if small.mode == "RGB" else None)
    return out.getvalue()


def name_of(file_name: str, caption: str = "", number: int = 0) -> str:
    """Return what a photograph is called: its caption, numbered if shared, or its file's name.

    >>> name_of("pictures/hem.jpg"), name_of("x.jpg", "Hem, raking light", 2)
    ('hem.jpg', 'Hem, raking light (2)')
    """
    said = re.sub(r"[\x00-\x1f\x7f\ud800-\udfff]", " ", caption).strip()[:160]
    if said:
        return f"{said} ({number})" if number else said
    last = re.split(r"[\\/]", file_name)[-1]
    return re.sub(r"[\x00-\x1f\x7f\ud800-\udfff]", "", last).strip()[-160:] or "photograph"


def _kind_of(head: bytes) -> str:
    """Return the kind of a file that can't be taken, by its first bytes, or "" if not known."""
    if head[4:8] == b"ftyp" and head[8:12] in (b"avif", b"avis"):
        return "AVIF"
    kinds = ((b"GIF8", "GIF"), (b"II*\0", "TIFF"), (b"MM\0*", "TIFF"), (b"%PDF", "PDF"))
    return next((kind for start, kind in kinds if head.startswith(start)), "")


def _refuse_by_kind(name: str, data: bytes) -> None:
    """Refuse by the first bytes what isn't one of the three kinds."""
    head = data[:64]
    if head[:3] == b"\xff\xd8\xff" or head[:8] == b"\x89PNG\r\n\x1a\n":
        return
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return
    if head[4:8] == b"ftyp" and head[8:12] in _BRANDS_OF_HEIC:
        raise PhotographError(
            name,
            "the picture is HEIC, which browsers and documents can't show",
            "JPEG: on the telephone choose the most compatible format for the camera, or open "
            "the picture on a computer and save it as JPEG",
        )
    text = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if text.startswith((b"<svg", b"<?xml", b"<!doctype", b"<html", b"<script", b"<!--")):
        raise PhotographError(name, "the file is a text of markup, not a photograph")
    found = _kind_of(head)
    raise PhotographError(
        name, f"the file is {found}" if found else "the content isn't that of a known picture"
    )


def _too_many_pixels(name: str) -> PhotographError:
    return PhotographError(name, "the picture has over 60 megapixels")


def _written_anew(name: str, data: bytes) -> Photograph:
    with Image.open(io.BytesIO(data), formats=READ_AS) as image:  # reads the header only
        kind = "JPEG" if image.format == "MPO" else image.format  # a telephone's JPEG of several
        if image.width * image.height > MOST_PIXELS:
            raise _too_many_pixels(name)
        if max(image.size) > MOST_EDGE:
            raise PhotographError(name, f"the picture has over {MOST_EDGE} pixels along an edge")
        if image.format != "MPO" and getattr(image, "is_animated", False):
            raise PhotographError(name, "the picture moves (it has several frames)")
        if kind == "PNG":
            with Image.open(io.BytesIO(data), formats=READ_AS) as whole:
                whole.verify()  # the sums of all its pieces, as far as the end
        image.load()
        turned = ImageOps.exif_transpose(image)
        plain, profile = _plain(turned)
    if plain.mode in ("LA", "RGBA") and kind != "JPEG":
        kind = "PNG"
    elif kind == "WEBP":
        kind = "JPEG"
    plain.info = {}  # nothing of the old file may reach the new one
    out = io.BytesIO()
    if kind == "JPEG":
        plain.save(out, "JPEG", quality=92, subsampling=0, icc_profile=profile)
    else:
        plain.save(out, "PNG", icc_profile=profile)
    written = out.getvalue()
    return Photograph(written, f"image/{str(kind).lower()}", plain.width, plain.height)


def _plain(image: Image.Image) -> tuple[Image.Image, bytes | None]:
    """Return a picture in grey or RGB, perhaps with see-through places, and its colour profile."""
    profile = image.info.get("icc_profile")
    if image.mode.startswith("I"):  # 16 bits of grey
        wide = image.convert("I").point(lambda value: value * (1 / 256))
        return wide.convert("L"), None
    if image.mode in ("CMYK", "YCbCr", "LAB", "HSV"):
        return _to_srgb(image, profile), None
    if image.mode == "P" or "transparency" in image.info:
        image = image.convert("RGBA" if "transparency" in image.info else "RGB")
    if image.mode not in ("L", "LA", "RGB", "RGBA"):
        image = image.convert("L" if image.mode == "1" else "RGB")
    space = "GRAY" if image.mode.startswith("L") else "RGB "
    if not profile or _space_of(profile) != space:
        return image, None
    if len(profile) <= MOST_PROFILE:
        return image, profile
    return (_to_srgb(image, profile), None) if image.mode == "RGB" else (image, None)


def _space_of(profile: bytes) -> str:
    """Return the colour space of a profile, or an empty text if it can't be read."""
    try:
        return str(ImageCms.getOpenProfile(io.BytesIO(profile)).profile.xcolor_space)
    except (OSError, ValueError, TypeError, ImageCms.PyCMSError):
        return ""


def _to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return a picture in sRGB, by its profile if that can be used."""
    if profile:
        try:
            changed = ImageCms.profileToProfile(
                image,
                ImageCms.getOpenProfile(io.BytesIO(profile)),
                ImageCms.createProfile("sRGB"),
                outputMode="RGB",
            )
        except (OSError, ValueError, TypeError, ImageCms.PyCMSError):
            changed = None
        if changed is not None:
            return changed
    return image.convert("RGB")


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode not in ("LA", "RGBA"):
        return image if image.mode == "L" else image.convert("RGB")
    ground = Image.new("RGB", image.size, "white")
    ground.paste(image.convert("RGB"), mask=image.getchannel("A"))
    return ground
