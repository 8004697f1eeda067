"""One job's findings as documents: text, HTML, PDF, mail; they judge nothing."""
