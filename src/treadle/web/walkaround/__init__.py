"""Measuring: walk-arounds, readings, assessments, and what drivers report."""
