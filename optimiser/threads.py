"""How linear algebra keeps to one core."""

ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
"""Environment, to be set before numpy is imported. Matrices here are small, and starting threads takes time; sums of
several threads could differ in their bits; and the other cores have workers of their own."""
