"""airtrim: set the airflow of an existing ducted air conditioner so that a humid house dries without harm."""

import os

__version__ = "0.1.0"

# Our matrices are small: one thread is faster, leaves the cores to house-years, and gives the same last digits on any machine. The
# linear algebra library looks at this once, when it is first loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
