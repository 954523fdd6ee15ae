/** A long text sent to a thread: both read the same memory, so sending costs nothing, whatever its length. */
export type SharedText = Uint8Array<SharedArrayBuffer>;

export const sharedText = (text: string): SharedText => {
  const bytes = Buffer.from(new SharedArrayBuffer(Buffer.byteLength(text)));
  bytes.write(text);
  return bytes;
};

export const readShared = (bytes: SharedText): string =>
  Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString();
