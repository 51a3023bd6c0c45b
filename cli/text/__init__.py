"""What people read: every sentence, rounding and table of the answers."""
