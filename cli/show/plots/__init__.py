"""Plots and views to scale: cut, size, sweep, absorber, all in one style."""
