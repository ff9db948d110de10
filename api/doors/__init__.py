"""Who may come in, and how: sign-in, sessions, tokens, phones, limits, and the certificate."""
