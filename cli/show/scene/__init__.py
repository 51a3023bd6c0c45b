"""A held bar moving: scene, stage, bodies, renderers, loops and sheets."""
