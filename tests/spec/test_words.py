"""The words that the spec allows are the words that the layers above know."""

from __future__ import annotations

from dataclasses import fields

from stitchcraft.decoration import KINDS
from stitchcraft.decoration.lettering import FACE_NAMES, LETTER_STITCHES
from stitchcraft.decoration.monogram import FRAMES
from stitchcraft.decoration.text_layout import SIDES
from stitchcraft.parts import FASTENERS
from stitchcraft.parts.connector import ENDS, LAYOUTS
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS
from stitchcraft.spec import words


def test_every_tip_profile_outline_and_face_of_the_spec_can_be_drawn_and_the_other_way_round():
    assert set(words.TIPS) == set(TIPS)
    assert set(words.PROFILES) == set(PROFILES)
    assert set(words.OUTLINES) == set(OUTLINES)
    assert set(words.FACES) == set(FACE_NAMES)
    assert (words.LETTER_STITCHES, words.FRAMES, words.TEXT_SIDES) == (LETTER_STITCHES, FRAMES, SIDES)


def test_every_fastener_of_the_spec_can_be_made_with_the_keys_that_the_spec_has_for_it():
    assert set(words.FASTENERS) == set(FASTENERS)
    for kind, keys in words.FASTENER_KEYS.items():
        assert {part.name for part in fields(FASTENERS[kind])} == set(keys)
    assert set(words.LAYOUTS) == set(LAYOUTS)
    assert set(words.ENDS) == set(ENDS)


def test_every_decoration_of_the_spec_can_be_drawn():
    assert set(words.DECORATIONS) <= set(KINDS)
