"""The tests run as the program's own jobs do, whoever starts them.

One thread each: threads of linear algebra that wait on each other for small matrices are counted as processor time, and on a
machine of many cores a test of cost would measure the waiting.  Set before anything loads numpy; the workers of a parallel run
inherit it.  Freed memory is kept, as a job keeps it.

And Ctrl-C is heard: what a shell starts in the background ignores it, and so would the commands that the tests start.
"""

import os
import signal

from preflight.guard import ONE_THREAD, keep_freed_memory

for _name in ONE_THREAD:
    os.environ.setdefault(_name, "1")
keep_freed_memory()
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
