"""Digests, identifiers and forms."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from scoring.form import Form
from scoring.model import Identifier, OperatorCode, digest
from tests.scoring.small import small_form

KEYS = st.dictionaries(st.text(st.characters(codec="utf-8")), st.integers(), max_size=6)


def test_a_digest_is_the_sha_256_of_canonical_json() -> None:
    # `printf '{"a":[1,2.5],"b":"ü"}' | sha256sum`
    assert digest({"b": "ü", "a": [1, 2.5]}) == (
        "4453b0fd66ce6d24961a872aec6287c1734cf61c1ef8115c234c7ecc3a5571ca"
    )


@given(KEYS)
def test_the_order_of_items_does_not_matter(content: dict[str, int]) -> None:
    assert digest(content) == digest(dict(reversed(content.items())))


@given(KEYS, KEYS)
def test_other_content_has_another_digest(one: dict[str, int], other: dict[str, int]) -> None:
    assert (digest(one) == digest(other)) == (one == other)


@pytest.mark.parametrize(
    ("kind", "good", "bad"),
    [
        (Identifier, ["a", "a-b_9", "x" * 64], ["", "A", "9a", "a b", "a.b", "../a", "ä", "x" * 65,
                                               "a\n"]),
        (OperatorCode, ["A1", "OP-017", "ABCD-123456"], ["", "OP", "op-1", "OP_1", "ABCDE-1",
                                                         "OP-1234567", "=OP-1", "OP-1\n"]),
    ],
)  # fmt: skip
def test_identifiers_and_codes(kind: object, good: list[str], bad: list[str]) -> None:
    adapter: TypeAdapter[str] = TypeAdapter(kind)
    for text in good:
        assert adapter.validate_python(text) == text
    for text in bad:
        with pytest.raises(ValidationError):
            adapter.validate_python(text)


def test_a_form_is_named_with_its_version_and_never_changes() -> None:
    form = small_form()
    assert form.name == "small-exam_v1"
    with pytest.raises(ValidationError):
        form.cut = 0.1  # type: ignore[misc]
    assert Form.model_validate(form.model_dump(mode="json")) == form
