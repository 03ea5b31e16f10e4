"""What importing the package costs, beside importing NumPy, each in a fresh process."""

import subprocess
import sys

PROGRAM = """
import sys, time
start = time.perf_counter()
import {module}
print(time.perf_counter() - start)
print(*(name for name in ("sympy", "scipy.signal", "matplotlib") if name in sys.modules))
"""


def import_time(module):
    """Return seconds and the heavy libraries that came along."""
    text = subprocess.check_output([sys.executable, "-c", PROGRAM.format(module=module)], text=True)
    seconds, heavy = text.splitlines()
    return float(seconds), heavy


def test_importing_the_package_costs_less_than_importing_numpy(ratio):
    ours, numpy = zip(*[(import_time("singlerail_nb"), import_time("numpy")) for _ in range(4)], strict=True)
    assert {heavy for _, heavy in ours} == {""}
    ratio("import singlerail_nb / import numpy", min(ours)[0] / min(numpy)[0], at_most=1.0)
