"""A first run, which compiles, gives the same bits as the next one, which reads the compiled code."""

import hashlib
import os
import subprocess
import sys

CODE = """
import hashlib
import numpy as np
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.torsion import torsion_properties

rng = np.random.default_rng(1)
x = np.linspace(-4.0, 4.0, 65) + 0.03 * rng.standard_normal((300, 65))
z = 0.1 * x * x + 0.2 * rng.standard_normal((300, 1)) * np.sin(x)
strips = Strips.chain(x, z, 0.08 + 0.05 * rng.random((300, 64)), "wing")
found = section_properties(strips), torsion_properties(strips)
values = [getattr(one, name) for one in found for name in one.__slots__]
print(hashlib.sha256(b"".join(value.tobytes() for value in values)).hexdigest())
"""


def test_compiled_now_or_before_gives_the_same_bits(tmp_path):
    """Sums that the compiler may reorder came out otherwise where a kernel was inlined again."""
    told = [
        subprocess.run(
            [sys.executable, "-c", CODE],
            env=os.environ | {"NUMBA_CACHE_DIR": str(tmp_path)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for _ in range(2)
    ]
    assert len(told[0]) == len(hashlib.sha256().hexdigest())
    assert told[0] == told[1]
