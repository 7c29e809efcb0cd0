/** The engine as one file for a browser, bundled afresh from the sources. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** Bundles `src/engine/index.ts` as one script that sets the global `engine`. */
export async function bundleEngine(): Promise<string> {
  const outDir = mkdtempSync(join(tmpdir(), 'lanewright-bundle-'));
  try {
    await build({
      root,
      configFile: false,
      logLevel: 'error',
      build: {
        outDir,
        emptyOutDir: true,
        minify: false,
        lib: {
          entry: join(root, 'src/engine/index.ts'),
          formats: ['iife'],
          name: 'engine',
          fileName: 'engine',
        },
      },
    });
    const files = readdirSync(outDir);
    if (files.length !== 1) throw new Error(`one file was expected, got ${files.join(', ')}`);
    return readFileSync(join(outDir, files[0]!), 'utf8');
  } finally {
    rmSync(outDir, { recursive: true, force: true });
  }
}
