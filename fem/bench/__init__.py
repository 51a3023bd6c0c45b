"""From the bench to the model: taps heard in a recording, pulls on a dial, and a set-up fitted to them."""
