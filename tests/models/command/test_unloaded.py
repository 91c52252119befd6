"""Modules that nothing here uses are left unloaded, and still work where something does."""

import json
import subprocess
import sys

from models.command.unloaded import POSTPONED

_AFTER = """
import json, sys, types
import models.command
from models.command.boundary import main
code = main(["check", "spar-c", "--json", "--quiet"])
unloaded = {name: type(sys.modules.get(name)) is not types.ModuleType for name in %r}
import numpy.testing
numpy.testing.assert_allclose([1.0], [1.0])
loaded = type(sys.modules["numpy.testing"]) is types.ModuleType
print(json.dumps({"unloaded": unloaded, "works": loaded}), file=sys.stderr)
"""


def test_a_command_leaves_them_alone_and_the_first_use_loads_them():
    done = subprocess.run([sys.executable, "-c", _AFTER % (POSTPONED,)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stderr.splitlines()[-1])
    assert told == {"unloaded": dict.fromkeys(POSTPONED, True), "works": True}
