"""The mechanics: materials, elements, solver, modes, damping, the cut. Knows no screen."""
