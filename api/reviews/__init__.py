"""What a finished run was, told from its record; and what several of them say together."""
