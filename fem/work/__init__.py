"""What the part itself does: notes, stiffness along it, form under a steady push, what each support buys."""
