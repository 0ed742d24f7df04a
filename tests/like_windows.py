"""The command line on a machine that has none of what only POSIX has, as far as one that does can be made to look so.

Libraries are loaded first, as the machine is: what is tried is this program. Usage: like_windows.py ARGUMENTS…
"""

from __future__ import annotations

import concurrent.futures.process
import ctypes
import email
import errno
import gettext
import importlib
import multiprocessing.connection
import os
import signal
import sys
import tempfile
import types

#: Libraries that look for the system they run on when they are loaded.
LIBRARIES = (
    "PIL.Image",
    "babel.dates",
    "babel.messages.pofile",
    "click",
    "jinja2",
    "jsonschema",
    "markdown",
    "matplotlib.backends.backend_svg",
    "matplotlib.font_manager",
    "matplotlib.figure",
    "nh3",
    "numpy",
    "pandas",
    "pint",
    "pydantic",
    "scipy.interpolate",
    "scipy.optimize",
    "scipy.signal",
    "scipy.stats",
    "uncertainties",
)
#: What Windows lacks, by where it stands elsewhere.
MODULES = ("fcntl", "grp", "posix", "pty", "pwd", "readline", "resource", "syslog", "termios", "tty")
OF_OS = (
    *("chown", "fchmod", "fchown", "fork", "forkpty", "getegid", "geteuid", "getgid", "getloadavg", "getpgid"),
    *("getuid", "killpg", "lchown", "mkfifo", "mknod", "nice", "openpty", "pread", "pwrite", "sched_getaffinity"),
    *("setpgid", "setsid", "setuid", "statvfs", "sysconf", "ttyname", "uname", "wait4", "waitid"),
    *("O_CLOEXEC", "O_DIRECTORY", "O_NOFOLLOW", "O_NONBLOCK", "WNOHANG"),
)
OF_SIGNAL = (
    *("SIGALRM", "SIGCHLD", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP", "SIGUSR1", "SIGUSR2"),
    *("alarm", "pause", "pthread_kill", "pthread_sigmask", "setitimer", "sigwait"),
)


def console_runtime() -> types.ModuleType:
    """Return the lock of files that Windows has."""
    module, held = types.ModuleType("msvcrt"), set()

    def locking(handle: int, _mode: int, _length: int) -> None:
        file = os.fstat(handle).st_ino
        if file in held:
            raise OSError(errno.EACCES, "Permission denied")
        held.add(file)

    module.locking, module.LK_NBLCK = locking, 2
    return module


def main() -> int:
    """Run the command line there, and return its exit status."""
    for library in LIBRARIES:
        importlib.import_module(library)
    assert concurrent.futures.process and ctypes and email and gettext and multiprocessing.connection and tempfile
    sys.modules |= dict.fromkeys(MODULES)
    for names, module in ((OF_OS, os), (OF_SIGNAL, signal)):
        for name in names:
            if hasattr(module, name):
                delattr(module, name)
    sys.modules["msvcrt"] = console_runtime()
    sys.platform = "win32"
    return importlib.import_module("reportgen.cli").run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
