-- Apart from what uses it: PostgreSQL lets a new value be used only after the transaction that adds it.
ALTER TYPE "role" ADD VALUE 'supervisor';
