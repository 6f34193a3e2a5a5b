"""What a person does: values in; done, to be confirmed, or refused out. Each has its own transaction."""
