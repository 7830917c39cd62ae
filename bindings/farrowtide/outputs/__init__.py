"""What is measured in a room: the declared outputs, their names, and how they are printed."""
