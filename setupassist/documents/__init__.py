"""What is kept on disk: the job, the shop book, the measure and plan documents, and their atomic store."""
