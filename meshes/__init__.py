"""What the user describes and the mesh that is made of it. Knows no mechanics."""
