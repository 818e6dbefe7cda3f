"""The chain of seals: the same bytes everywhere, and whatever was changed, taken out or slipped in shows."""

from __future__ import annotations

import hashlib
import uuid
from datetime import UTC, datetime

import pytest

from treadle.web.base.models import Seal
from treadle.web.base.seal import NOTHING_BEFORE, Broken, broken_links, canonical, seal

pytestmark = pytest.mark.usefixtures("in_shop")
AT = datetime(2026, 10, 2, 13, 40, tzinfo=UTC)


def sealed(count):
    return [seal("job", uuid.UUID(int=number), {"job": f"J-{number}"}, at=AT) for number in range(1, count + 1)]


def test_the_digest_is_sha_256_of_number_previous_and_text():
    # FIPS 180-4, SHA-256, here by Python's own hashlib; the form is that of the docstring of `digest_of`.
    link = sealed(1)[0]
    assert link.previous == NOTHING_BEFORE
    assert link.digest == hashlib.sha256(f"1\n{NOTHING_BEFORE}\n{link.text}".encode()).hexdigest()


def test_the_canonical_text_does_not_hang_on_the_order_of_fields():
    assert canonical({"a": 1, "b": [2, "3"]}) == canonical({"b": [2, "3"], "a": 1})


def test_letters_stand_as_themselves():
    assert canonical({"by": "Ñ. Quill"}) == '{"by":"Ñ. Quill"}'


@pytest.mark.parametrize("record", [{"a": 1.5}, {"a": [{"b": 0.1}]}])
def test_a_float_is_refused_since_databases_may_write_it_apart(record):
    with pytest.raises(TypeError, match="float"):
        canonical(record)


def test_an_untouched_chain_holds():
    sealed(3)
    assert broken_links(Seal.objects.all()) == []


def test_a_changed_text_shows_at_its_link():
    first, _, _ = sealed(3)
    Seal.objects.filter(pk=first.pk).update(text=first.text.replace("J-1", "J-9"))
    assert broken_links(Seal.objects.all()) == [Broken(1, "digest")]


def test_a_link_rewritten_with_its_digest_shows_at_the_next():
    first, _, _ = sealed(3)
    text = first.text.replace("J-1", "J-9")
    digest = hashlib.sha256(f"1\n{NOTHING_BEFORE}\n{text}".encode()).hexdigest()
    Seal.objects.filter(pk=first.pk).update(text=text, digest=digest)
    assert broken_links(Seal.objects.all()) == [Broken(2, "previous")]


def test_a_link_taken_out_shows():
    _, second, _ = sealed(3)
    Seal.objects.filter(pk=second.pk).delete()
    assert broken_links(Seal.objects.all()) == [Broken(3, "number"), Broken(3, "previous")]
