"""Photographs: found out from their content, refused before they are decoded, written anew."""

from __future__ import annotations

import io
import struct
import time
import zlib

import pytest
from PIL import Image, ImageCms, PngImagePlugin

from leastwise.api.services.photographs import (
    MOST_BYTES,
    MOST_PROFILE,
    PhotographError,
    checked_photograph,
    name_of,
    small_picture,
)


def jpeg(size: tuple[int, int] = (60, 40), mode: str = "RGB", **extra: object) -> bytes:
    out = io.BytesIO()
    picture = Image.effect_noise(size, 50).convert(mode)
    picture.save(out, "JPEG", **extra)
    return out.getvalue()


def png(mode: str = "RGB", size: tuple[int, int] = (60, 40), **extra: object) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size).save(out, "PNG", **extra)
    return out.getvalue()


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def declared_png(width: int, height: int) -> bytes:
    """A tiny file that says that it is a huge picture."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def with_place() -> bytes:
    exif = Image.Exif()
    exif[0x0112] = 6  # turned by a quarter
    exif[0x010F] = "SECRETMAKER"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (51.0, 30.0, 12.5)
    place[3], place[4] = "W", (0.0, 7.0, 39.9)
    return jpeg(exif=exif, comment=b"SECRETCOMMENT", xmp=b"<x:xmpmeta>SECRETXMP</x:xmpmeta>")


def test_the_place_and_every_note_are_gone_and_the_picture_stands_upright() -> None:
    given = with_place()
    before = Image.open(io.BytesIO(given))
    assert before.getexif().get_ifd(0x8825)[1] == "N"  # it was there
    assert before.size == (60, 40)
    kept = checked_photograph("hem.jpg", given)
    after = Image.open(io.BytesIO(kept.data))
    assert (kept.media_type, kept.width, kept.height) == ("image/jpeg", 40, 60)
    assert after.size == (40, 60)
    assert not dict(after.getexif())
    assert not after.getexif().get_ifd(0x8825)
    for hidden in (b"SECRET", b"Exif", b"xmpmeta"):
        assert hidden in given
        assert hidden not in kept.data


def test_what_a_file_hides_behind_its_picture_is_gone() -> None:
    given = jpeg() + b"<script>alert(1)</script>PK\x03\x04"
    kept = checked_photograph("hem.jpg", given)
    assert b"script" not in kept.data
    assert b"PK\x03\x04" not in kept.data


def test_notes_inside_a_png_are_gone() -> None:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", "SECRET place", zip=False)
    given = png(pnginfo=notes)
    assert b"SECRET" in given
    assert b"SECRET" not in checked_photograph("hem.png", given).data


@pytest.mark.parametrize(("width", "height"), [(50_000, 50_000), (9_000, 9_000), (40_000, 2)])
def test_a_picture_that_says_it_is_huge_is_refused_without_being_decoded(
    width: int, height: int
) -> None:
    began = time.process_time()
    with pytest.raises(PhotographError, match=r"60 megapixels|pixels along an edge") as refused:
        checked_photograph("bomb.png", declared_png(width, height))
    assert time.process_time() - began < 1.0
    assert refused.value.name == "bomb.png"


@pytest.mark.parametrize("given", [jpeg((400, 300))[:4000], png(size=(400, 300))[:200]])
def test_a_file_that_was_cut_short_is_refused(given: bytes) -> None:
    with pytest.raises(PhotographError, match="damaged or cut short"):
        checked_photograph("half.jpg", given)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "markup"),
        (b"\xef\xbb\xbf  <!DOCTYPE html><script>alert(1)</script>", "markup"),
        (b"GIF89a" + b"\0" * 40, "GIF"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"", "empty"),
        (b"MZ\x90\0" * 20, "isn't that of a known picture"),
    ],
)
def test_another_kind_of_file_is_refused_whatever_its_name(given: bytes, words: str) -> None:
    with pytest.raises(PhotographError, match=words) as refused:
        checked_photograph("portrait.jpg", given)
    said = str(refused.value)
    assert said.startswith("portrait.jpg: ")
    assert "JPEG, PNG or WebP" in said


def test_heic_is_refused_with_a_way_to_convert_it() -> None:
    with pytest.raises(PhotographError, match="HEIC") as refused:
        checked_photograph("IMG_1.jpg", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 64)
    assert "save it as JPEG" in str(refused.value)


def test_a_file_over_20_mebibytes_is_refused_unread() -> None:
    with pytest.raises(PhotographError, match="over 20 MiB"):
        checked_photograph("large.jpg", jpeg() + b"\0" * MOST_BYTES)


@pytest.mark.parametrize("kind", ["WEBP", "PNG"])
def test_a_picture_that_moves_is_refused(kind: str) -> None:
    out = io.BytesIO()
    frames = [Image.new("RGB", (30, 30), colour) for colour in ("red", "blue")]
    frames[0].save(out, kind, save_all=True, append_images=frames[1:], duration=100)
    with pytest.raises(PhotographError, match="moves"):
        checked_photograph("moving", out.getvalue())


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "P", "1", "I;16"])
def test_every_way_of_writing_a_png_gives_a_png_that_can_be_shown(mode: str) -> None:
    kept = checked_photograph("x.png", png(mode))
    after = Image.open(io.BytesIO(kept.data))
    after.load()
    assert kept.media_type == "image/png"
    assert after.mode in ("L", "LA", "RGB", "RGBA")
    assert after.size == (60, 40)


def test_sixteen_bits_of_grey_keep_their_tones() -> None:
    out = io.BytesIO()
    Image.new("I;16", (10, 10), 128 * 256).save(out, "PNG")
    kept = checked_photograph("x.png", out.getvalue())
    assert Image.open(io.BytesIO(kept.data)).getpixel((5, 5)) == 128


def test_webp_becomes_what_every_document_can_hold() -> None:
    opaque, glassy = io.BytesIO(), io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(opaque, "WEBP")
    Image.new("RGBA", (30, 20), (0, 0, 0, 90)).save(glassy, "WEBP")
    assert checked_photograph("a.webp", opaque.getvalue()).media_type == "image/jpeg"
    assert checked_photograph("b.webp", glassy.getvalue()).media_type == "image/png"


def test_a_small_valid_colour_profile_is_kept_and_any_other_left_out() -> None:
    good = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert len(good) < MOST_PROFILE

    def profile(given: bytes) -> bytes | None:
        kept = checked_photograph("a.jpg", jpeg(icc_profile=given))
        return Image.open(io.BytesIO(kept.data)).info.get("icc_profile")

    assert profile(good) == good
    assert profile(b"no profile at all, but notes" * 9) is None
    assert profile(good + b"\0SECRET" * MOST_PROFILE) is None


def test_a_small_copy_is_a_jpeg_of_at_most_480_pixels_and_never_enlarged() -> None:
    large = checked_photograph("a.jpg", jpeg((1200, 300)))
    small = checked_photograph("b.png", png("RGBA", (50, 70)))
    assert Image.open(io.BytesIO(small_picture(large.data))).size == (480, 120)
    copied = Image.open(io.BytesIO(small_picture(small.data)))
    assert (copied.format, copied.size) == ("JPEG", (50, 70))


def test_a_name_holds_no_folder_and_no_control_character() -> None:
    assert name_of("C:\\pictures\\..\\hem.jpg") == "hem.jpg"
    assert name_of("../../etc/passwd") == "passwd"
    assert name_of("a\r\nset-cookie: x.jpg") == "aset-cookie: x.jpg"
    assert name_of("") == "photograph"
    assert name_of("x.jpg", "  Hem  ", 3) == "Hem (3)"
