"""Records: what the files hold and what a vetting returns. No logic of the trade."""
