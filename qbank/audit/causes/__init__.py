"""What reproduces a wrong key: each module proposes other numbers, `table` ranks them."""
