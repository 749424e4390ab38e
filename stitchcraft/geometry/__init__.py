"""Curves, sampling, offsets, hatching, frames: plain geometry that knows nothing of thread or bags."""
