"""Questions about the people of the house: who has an account, who is signed in."""
