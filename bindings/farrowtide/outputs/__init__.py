"""What is measured in a room: the declared outputs, what they are called and how they are printed."""
