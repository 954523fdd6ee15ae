/** `@jest/globals` as test files see it: mocks and the clock of the running file. */
export let jest;

export const useJest = (ofFile) => {
  jest = ofFile;
};
