"""Pictures for reading, not for cutting: boards compared, the balance, the bench card."""
