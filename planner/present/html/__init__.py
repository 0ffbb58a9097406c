"""The same sheet as a page of HTML."""
