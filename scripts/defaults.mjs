// `npm run defaults`: writes docs/defaults.md from the table of default ranges.
import { build, install, root } from './setup.mjs';

install();
build();
const { runnerImport } = await import('vite');
const { writeText } = await import('../dist/io/index.js');
const { module } = await runnerImport('./test/docs/defaults-page.ts', {
  root,
  configFile: false,
  logLevel: 'error',
});
await writeText(module.pageFile, module.defaultsPage(), 'always', 'docs/defaults.md');
console.log('docs/defaults.md');
