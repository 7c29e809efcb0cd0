// `npm run accuracy`: install, build, rate the measured systems, and write docs/accuracy.md, and the
// summary that reports print of it, whole or not at all. The page's TypeScript is run as it stands, with the sources that the tests use.
import { build, install, root } from './setup.mjs';

install();
build();
const { runnerImport } = await import('vite');
const { writeText } = await import('../dist/io/index.js');
const load = async (file) =>
  (await runnerImport(file, { root, configFile: false, logLevel: 'error' })).module;
const { accuracyPage, pageFile } = await load('./test/accuracy/page.ts');
const { knownFile, knownText } = await load('./test/accuracy/known.ts');
const page = accuracyPage();
await writeText(pageFile, page, 'always', 'docs/accuracy.md');
await writeText(knownFile, knownText(page), 'always', 'src/report/known-accuracy.ts');
console.log('docs/accuracy.md\nsrc/report/known-accuracy.ts');
