"""What results say, in plain words."""
