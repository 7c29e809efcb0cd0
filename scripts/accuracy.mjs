// `npm run accuracy`: install, build, rate the measured systems, and write docs/accuracy.md whole or
// not at all. The page's TypeScript is run as it stands, with the sources that the tests use.
import { build, install, root } from './setup.mjs';

install();
build();
const { runnerImport } = await import('vite');
const { writeText } = await import('../dist/io/index.js');
const { module } = await runnerImport('./test/accuracy/page.ts', {
  root,
  configFile: false,
  logLevel: 'error',
});
await writeText(module.pageFile, module.accuracyPage(), 'always', 'docs/accuracy.md');
console.log('docs/accuracy.md');
