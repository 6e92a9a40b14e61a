"""What each page of the app shows, made from what is kept."""
