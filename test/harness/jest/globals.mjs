/** `@jest/globals` as test files get it: mocks and the clock of the file that runs. */
export let jest;

export const useJest = (ofFile) => {
  jest = ofFile;
};
