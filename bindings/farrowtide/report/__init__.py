"""What people read and look at: pictures, words, the page of a comparison, the description of a study."""
