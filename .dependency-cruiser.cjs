// Module boundaries: bottom to top as drawn in docs/architecture.md. A folder may import itself and
// the folders listed for it; everything else is refused.
const may = {
  quantity: [],
  numeric: ['quantity'],
  kernel: [],
  coding: [],
  model: ['quantity'],
  standards: ['quantity', 'model'],
  links: ['quantity', 'numeric', 'kernel', 'model', 'standards', 'coding'],
  system: ['quantity', 'numeric', 'kernel', 'model', 'standards', 'links'],
  fit: ['quantity', 'model', 'standards', 'system'],
  insight: ['quantity', 'numeric', 'kernel', 'model', 'standards', 'links', 'system', 'readers'],
  engine: [
    'quantity',
    'numeric',
    'kernel',
    'model',
    'standards',
    'links',
    'system',
    'fit',
    'readers',
    'insight',
  ],
  figures: ['quantity', 'model', 'standards'],
  report: ['quantity', 'model', 'standards', 'figures'],
  readers: ['quantity', 'model', 'standards'],
  io: ['model'],
  cli: ['quantity', 'model', 'standards', 'readers', 'engine', 'figures', 'report', 'io'],
};
const packages = {
  numeric: ['ml-matrix'],
  insight: ['ml-matrix'],
  kernel: ['pure-rand'],
  system: ['yaml'],
  engine: ['@noble/hashes'],
  figures: ['@observablehq/plot', 'linkedom', 'wavedrom', 'onml'],
  io: ['write-file-atomic'],
  cli: [
    'commander',
    '@myriaddreamin/typst-ts-node-compiler',
    '@resvg/resvg-js',
    'pptxgenjs',
    'source-sans',
  ],
};
const escaped = (names) => names.map((n) => n.replace('/', '\\/')).join('|');

module.exports = {
  forbidden: [
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    ...Object.entries(may).map(([folder, others]) => ({
      name: `${folder}-imports`,
      severity: 'error',
      from: { path: `^src/${folder}/` },
      to: { path: '^src/', pathNot: `^src/(${[folder, ...others].join('|')})/` },
    })),
    {
      name: 'unknown-folder',
      severity: 'error',
      from: { path: '^src/', pathNot: `^src/(${Object.keys(may).join('|')})/` },
      to: {},
    },
    ...Object.keys(may).map((folder) => ({
      name: `${folder}-packages`,
      severity: 'error',
      from: { path: `^src/${folder}/` },
      to: {
        path: 'node_modules/',
        ...(packages[folder] ? { pathNot: `node_modules/(${escaped(packages[folder])})/` } : {}),
      },
    })),
    {
      name: 'node-only-outside-the-engine',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/(io|cli)/' },
      to: { dependencyTypes: ['core'] },
    },
  ],
  options: {
    tsConfig: { fileName: 'tsconfig.json' },
    tsPreCompilationDeps: true,
    doNotFollow: { path: 'node_modules' },
    enhancedResolveOptions: { extensions: ['.ts', '.js', '.mjs', '.cjs', '.json'] },
  },
};
