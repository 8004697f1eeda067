"""The tests run as the program's own jobs do: one thread each.

Threads of linear algebra that wait on each other for small matrices are counted as processor time: on a machine of many cores a
test of cost would then measure the waiting.  Set before anything loads numpy; the workers of a parallel run inherit it.
"""

import os

from preflight.guard import ONE_THREAD

for _name in ONE_THREAD:
    os.environ.setdefault(_name, "1")
