"""The steps of the database from one form to the next, in order; each can be gone back."""
