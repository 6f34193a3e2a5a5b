"""Whatever a person does: values in; done, to be confirmed, or refused out. The transaction is inside."""
