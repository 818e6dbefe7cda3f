"""Papers and pictures: upright, without place or device, of this shop alone."""

from __future__ import annotations

import hashlib
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from treadle.errors import BadInput
from treadle.web.units import documents
from treadle.web.units.documents import JPEG, PDF, add_document
from treadle.web.units.models import Document

PAPER = b"%PDF-1.7\n1 0 obj <<>> endobj\n%%EOF\n"
_ORIENTATION, _MAKER, _PLACE = 0x0112, 0x010F, 0x8825


def picture(width=60, height=40, form="JPEG", orientation=6):
    """A picture whose left half is red and right half blue, turned by its orientation, with a maker in it."""
    drawn = Image.new("RGB", (width, height), "blue")
    drawn.paste("red", (0, 0, width // 2, height))
    written = io.BytesIO()
    exif = Image.Exif()
    exif[_ORIENTATION], exif[_MAKER] = orientation, "Camera of nobody"
    exif.get_ifd(_PLACE)[1] = "N"
    drawn.save(written, form, exif=exif)
    return written.getvalue()


def add(unit, lead, content):
    return add_document(unit, io.BytesIO(content), size=len(content), what="tag", by=lead)


def handed_out(answer):
    content = b"".join(answer.streaming_content)
    answer.close()
    return content


def slugs(refused):
    return [problem.slug for problem in refused.value.problems]


def test_the_picture_made_here_carries_what_must_go():
    with Image.open(io.BytesIO(picture())) as made:
        assert made.getexif()[_MAKER] == "Camera of nobody"
        assert made.getexif().get_ifd(_PLACE)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_turned_upright_and_freed_of_place_and_device(make, lead, form):
    kept = add(make(), lead, picture(form=form))
    with kept.file.open("rb") as file, Image.open(file) as shown:
        assert shown.format == "JPEG"
        assert shown.size == (40, 60)  # Exif 2.3, orientation 6: turn 90 degrees clockwise
        red, _, blue = shown.getpixel((20, 5))
        assert red > 200  # what was at the left is at the top
        assert blue < 60
        assert dict(shown.getexif()) == {}
    assert kept.media_type == JPEG


def test_a_large_picture_is_made_smaller(make, lead):
    kept = add(make(), lead, picture(3000, 1500, orientation=1))
    with kept.file.open("rb") as file, Image.open(file) as shown:
        assert shown.size == (2400, 1200)


def test_a_pdf_is_kept_as_it_is(make, lead):
    kept = add(make(), lead, PAPER)
    assert (kept.media_type, kept.digest) == (PDF, hashlib.sha256(PAPER).hexdigest())
    with kept.file.open("rb") as file:
        assert file.read() == PAPER


@pytest.mark.parametrize("content", [b"", b"<html><script>", b"GIF89a" + b"\0" * 40, picture()[:200], b"%pdf-1.7"])
def test_anything_else_is_refused(make, lead, content):
    with pytest.raises(BadInput) as refused:
        add(make(), lead, content)
    assert slugs(refused) == ["not_a_picture_or_pdf"]
    assert Document.objects.count() == 0


def test_what_is_too_large_is_refused(make, lead, monkeypatch):
    unit = make()
    monkeypatch.setattr(documents, "LARGEST", len(PAPER) - 1)
    with pytest.raises(BadInput) as heavy:
        add(unit, lead, PAPER)
    monkeypatch.setattr(documents, "LARGEST", 10**7)
    monkeypatch.setattr(documents, "_MOST_PIXELS", 60 * 40 - 1)
    with pytest.raises(BadInput) as wide:
        add(unit, lead, picture())
    assert (slugs(heavy), slugs(wide)) == (["file_too_large"], ["picture_too_large"])


def test_a_paper_is_added_shown_and_handed_out(make, browser_of):
    unit = make()
    browser = browser_of("technician")
    there = reverse("units:documents", args=["K-12"])
    sent = {"what": "Chamber tag", "file": SimpleUploadedFile("x.pdf", PAPER, "text/html")}
    assert browser.post(there, sent).status_code == 302
    kept = unit.documents.get()
    assert "Chamber tag" in browser.get(reverse("units:unit", args=["K-12"])).content.decode()
    answer = browser.get(reverse("units:document", args=["K-12", kept.pk]))
    assert handed_out(answer) == PAPER
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_refused_file_keeps_what_was_typed(make, browser_of):
    make()
    sent = {"what": "Chamber tag", "file": SimpleUploadedFile("x.jpg", b"no picture", "image/jpeg")}
    answer = browser_of("technician").post(reverse("units:documents", args=["K-12"]), sent)
    assert set(answer.context["form"].errors) == {"file"}
    assert answer.context["form"]["what"].value() == "Chamber tag"


def test_a_paper_is_handed_to_people_of_the_shop_only(make, lead, browser_of, client, other_shop):
    kept = add(make(), lead, PAPER)
    there = reverse("units:document", args=["K-12", kept.pk])
    assert client.get(there).status_code == 302
    assert browser_of("lead", at=other_shop).get(there).status_code == 404
    assert handed_out(browser_of("driver").get(there)) == PAPER


def test_a_paper_of_one_unit_is_not_found_under_another(make, lead, browser_of):
    kept = add(make(), lead, PAPER)
    make("K-13")
    assert browser_of("lead").get(reverse("units:document", args=["K-13", kept.pk])).status_code == 404
