"""Why a job is late or left out, and what would mend it."""
