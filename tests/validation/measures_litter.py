"""What a trial of farrowings or piglets measured: each takes a Result and a row, and gives one number per replicate (room)."""
