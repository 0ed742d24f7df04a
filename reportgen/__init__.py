"""Turn the logs of a biogas-to-ice trial into a demonstration write-up."""

import os

__version__ = "0.1.0"

# The matrices of a trial are small: threads of the numerical library only wait for each other, which doubles the work,
# and how sums are split among them must not depend on the machine. It is read when numpy is first loaded.
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")
