"""Studies: which rooms are simulated of which alternatives, what runs them, when they stop, and what keeps them."""
