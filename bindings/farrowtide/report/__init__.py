"""What people read: pictures, sentences, the report of a comparison, the description of a study."""
