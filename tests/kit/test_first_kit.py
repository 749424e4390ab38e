"""The first kit that a newcomer makes: of the spec that `stitchcraft new` writes, as it stands."""

import pytest

from stitchcraft.kit.make import kit_of
from stitchcraft.spec import spec_text


@pytest.mark.parametrize("fabric", ["quilting cotton", "faux leather"])
def test_the_kit_of_an_unedited_spec_has_nothing_to_say(tmp_path, fabric):
    path = tmp_path / "bag.toml"
    path.write_text(spec_text().replace('fabric = "quilting cotton" ', f'fabric = "{fabric}" '), encoding="utf-8")
    assert f'fabric = "{fabric}"' in path.read_text(encoding="utf-8")
    made = kit_of(path)
    assert len(made.parts) == 6
    assert not made.findings
    assert all(proof.ok for proof in made.proofs)
