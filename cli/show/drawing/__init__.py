"""The set-up drawing: side view, end view and legend as one SVG picture."""
