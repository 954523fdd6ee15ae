/** Media type. It stands by itself, so that the service does not load what writes PDFs, which the threads do: 20 MB of memory. */
export const PDF = 'application/pdf';
