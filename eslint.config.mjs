import path from 'node:path';
import tseslint from 'typescript-eslint';

/**
 * The features by area, and of each the others that it may import: only those above it, so that no circle can arise.
 * A new import between features is declared here first.
 */
const features = {
  'site/projects': [],
  'site/parties': ['site/projects'],
  'site/api-keys': ['site/parties', 'site/projects'],
  'site/calendar': ['site/projects'],
  'site/catalogue': ['site/projects'],
  'driving/stroke-values': [],
  'site/drives': ['driving/stroke-values', 'site/projects'],
  'site/members': ['site/parties', 'site/projects'],
  'driving/acceptance': ['site/drives', 'site/parties', 'site/projects'],
  'driving/shift-state': [],
  'driving/advance': ['driving/shift-state', 'site/drives'],
  'driving/doubts': ['driving/shift-state', 'site/catalogue', 'site/drives', 'site/projects'],
  'driving/strokes': ['driving/doubts', 'driving/stroke-values', 'site/drives'],
  'ahead/indications': ['site/drives'],
  'ahead/water': ['site/drives'],
  'ahead/grouting': ['ahead/water', 'site/drives'],
  'ahead/hold-points': ['site/drives', 'site/parties'],
  'ground/classes': ['site/drives', 'site/parties'],
  'ground/discontinuities': ['site/drives'],
  'ground/rating-tables': [],
  'ground/ground-logs': ['driving/doubts', 'ground/rating-tables', 'site/drives', 'site/parties'],
  'support/support': ['site/drives'],
  'ground/overbreak': ['driving/doubts', 'site/drives', 'support/support'],
  'outputs/attachments': ['site/drives'],
  'outputs/ags': [],
  'outputs/lake': [],
  'outputs/odata': [],
  'support/zones': ['site/projects'],
  'support/support-standard': ['site/catalogue', 'site/drives', 'site/projects', 'support/zones'],
  'ahead/probing': ['site/drives', 'support/support-standard'],
  'outputs/diagrams': ['ahead/probing', 'ground/discontinuities'],
  'watch/live': ['site/drives'],
  'support/missing-support': ['site/catalogue', 'site/drives', 'support/support-standard', 'watch/live'],
  'outputs/record': [
    'ahead/hold-points',
    'ahead/indications',
    'ahead/probing',
    'ahead/water',
    'driving/doubts',
    'ground/classes',
    'ground/discontinuities',
    'ground/ground-logs',
    'ground/overbreak',
    'outputs/attachments',
    'site/catalogue',
    'site/drives',
    'support/missing-support',
  ],
  'outputs/strip': ['outputs/record', 'support/missing-support'],
  'outputs/daily-report': [
    'ahead/grouting',
    'ahead/probing',
    'ahead/water',
    'driving/acceptance',
    'driving/shift-state',
    'outputs/record',
    'site/catalogue',
    'site/drives',
    'site/parties',
  ],
  'driving/shifts': [
    'driving/doubts',
    'driving/shift-state',
    'driving/stroke-values',
    'driving/strokes',
    'outputs/record',
    'site/drives',
    'site/parties',
    'support/zones',
  ],
  'driving/ledger': ['driving/shifts', 'site/catalogue', 'site/drives'],
  'driving/muck': ['site/drives'],
  'driving/programme': ['site/drives'],
  'driving/samples': ['driving/doubts', 'driving/strokes', 'site/drives'],
  'ground/baselines': ['ground/classes', 'site/drives'],
  'payment/bills': ['site/drives'],
  'payment/entitlements': ['site/drives'],
  'payment/measurement': ['payment/bills', 'site/drives', 'support/zones'],
  'payment/notices': ['site/drives', 'site/projects'],
  'payment/valuations': ['ground/classes', 'payment/bills', 'site/drives', 'site/parties'],
  'watch/jobs': ['site/projects', 'watch/live'],
  'site/imports': ['driving/doubts', 'site/projects', 'watch/jobs'],
  'outputs/handover': [
    'driving/shifts',
    'outputs/attachments',
    'outputs/daily-report',
    'outputs/lake',
    'outputs/odata',
    'outputs/strip',
    'payment/valuations',
    'watch/jobs',
  ],
  'watch/health': [],
  'watch/history': ['watch/live'],
  'watch/webhooks': ['site/projects'],
  'watch/alerts': ['site/projects', 'watch/live'],
  'outputs/page': [
    'ahead/hold-points',
    'ahead/probing',
    'driving/advance',
    'driving/programme',
    'outputs/diagrams',
    'outputs/record',
    'site/drives',
    'site/projects',
    'watch/alerts',
  ],
};

/**
 * The rule of a feature for its files so many folders below it: what is imported from another feature is one of those listed.
 * A specifier that leaves for `../../../common` names no feature.
 */
const importsOf = (feature, allowed, depth) => {
  const up = '../'.repeat(depth);
  const from = path.posix.join('/', feature, ...Array(depth).fill('in'));
  const other = (name) => `${path.posix.relative(from, `/${name}`)}/`.replaceAll('.', '\\.');
  const any = `(${up}../[a-z]|${up}../../[a-z-]+/[a-z-]+/)`.replaceAll('../', '\\.\\./');
  return {
    files: [`src/features/${feature}/${'*/'.repeat(depth)}*.{ts,tsx}`],
    rules: {
      'no-restricted-imports': [
        'error',
        {
          patterns: [
            {
              regex: `^(?!${allowed.map(other).join('|') || '$'})${any}`,
              message: `${feature} may import: ${allowed.join(', ') || 'no other feature'}. Declare others in eslint.config.mjs first.`,
            },
          ],
        },
      ],
    },
  };
};

const importRules = Object.entries(features).flatMap(([feature, allowed], index, all) => {
  const late = allowed.find((other) => all.findIndex(([name]) => name === other) >= index);
  if (late) throw new Error(`${feature} imports ${late}, which does not stand above it.`);
  return [importsOf(feature, allowed, 0), importsOf(feature, allowed, 1)];
});

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
    files: ['**/*.{ts,tsx}'],
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
      'no-restricted-syntax': [
        'error',
        {
          selector: "JSXAttribute[name.name='dangerouslySetInnerHTML']",
          message: 'Pages escape what stands in them: make elements of it.',
        },
      ],
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
  ...importRules,
  {
    files: ['test/**/*.{ts,tsx}'],
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
