/** Media type. In a module by itself, so that the service does not load the PDF libraries, which only the threads need: 20 MB of memory. */
export const PDF = 'application/pdf';
