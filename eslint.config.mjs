import tseslint from 'typescript-eslint';

const nothingOutside = {
  patterns: [
    {
      group: ['@nestjs/*', '@prisma/*', 'node:*', 'pg', '**/generated/**', '**/features/**', '**/common/**'],
      message: 'engineering/ holds pure functions: no framework, no database, no clock.',
    },
  ],
};

export default tseslint.config(
  { ignores: ['dist', 'node_modules', 'src/generated', 'data', 'coverage', 'test/clients'] },
  ...tseslint.configs.recommended,
  {
    files: ['**/*.ts'],
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: import.meta.dirname } },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
      '@typescript-eslint/no-misused-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        { considerDefaultExhaustiveForUnions: true },
      ],
      '@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'inline-type-imports' }],
      'max-lines': ['error', { max: 400, skipBlankLines: true, skipComments: true }],
      'no-console': 'error',
      eqeqeq: ['error', 'always', { null: 'ignore' }],
    },
  },
  { files: ['**/*.cjs'], rules: { '@typescript-eslint/no-require-imports': 'off' } },
  {
    files: ['src/engineering/**'],
    rules: {
      'no-restricted-imports': ['error', nothingOutside],
      'no-restricted-globals': ['error', 'process', 'Date'],
    },
  },
  {
    files: ['src/common/**'],
    rules: {
      'no-restricted-imports': [
        'error',
        { patterns: [{ group: ['**/features/**'], message: 'common/ knows no feature.' }] },
      ],
    },
  },
  {
    files: ['test/**/*.ts'],
    rules: {
      'no-restricted-properties': [
        'error',
        ...['describe', 'it', 'test'].flatMap((object) =>
          ['only', 'skip'].map((property) => ({ object, property })),
        ),
      ],
    },
  },
);
