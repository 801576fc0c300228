"""Many places at once, with the same kernels as one place."""
