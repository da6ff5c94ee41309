import { svelte } from '@sveltejs/vite-plugin-svelte';
import { fileURLToPath } from 'node:url';
import type { Rolldown } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';
import { defineConfig } from 'vitest/config';
import { counts } from './first.mjs';

// A phone's first screen waits for each file that it loads; so what is loaded with the
// app is one file, and not one for each set of screens that share something.
const first = {
  debugName: 'app',
  name: (id: string, graph: Rolldown.ChunkingContext) => (reached(id, graph) ? 'app' : null),
};

/** Whether a module is imported, at once and not later, from where the app begins. */
function reached(id: string, graph: Rolldown.ChunkingContext, seen = new Set<string>()): boolean {
  seen.add(id);
  const module = graph.getModuleInfo(id);
  if (!module) return false;
  return module.isEntry || module.importers.some((by) => !seen.has(by) && reached(by, graph, seen));
}

// The server allows no inline script and no inline style, and no address but its
// own: hence no inlined files, no polyfill, and no script that the plugin writes.
export default defineConfig({
  plugins: [
    svelte(),
    VitePWA({
      registerType: 'prompt', // a visit that is open is never reloaded under the hands
      injectRegister: null,
      manifest: {
        name: 'Sapwell',
        short_name: 'Sapwell',
        id: '/',
        start_url: '/',
        scope: '/',
        display: 'standalone',
        background_color: '#f6f3ea',
        theme_color: '#0b5d4e',
        icons: [{ src: '/icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' }],
      },
      workbox: {
        // A device fetches what a visit needs before it is needed; an office's screens
        // are kept when they are opened.
        globPatterns: ['**/*.{html,js,css,wasm,svg,png,webmanifest}'],
        manifestTransforms: [(all) => ({ manifest: all.filter((e) => counts()(e.url)), warnings: [] })],
        runtimeCaching: [
          {
            urlPattern: ({ sameOrigin, url }) => sameOrigin && url.pathname.startsWith('/assets/'),
            handler: 'CacheFirst',
            options: { cacheName: 'opened', expiration: { maxEntries: 120 } },
          },
        ],
        maximumFileSizeToCacheInBytes: 16 << 20,
        navigateFallback: '/index.html',
        // What the server itself answers, with or without the app.
        navigateFallbackDenylist: [
          /^\/(api|door|passkeys?|session)(\/|$)/,
          /^\/(account|invite|healthz|readyz|metrics|openapi\.json|authority\.crt)$/,
        ],
      },
    }),
  ],
  resolve: {
    alias: { '@words': fileURLToPath(new URL('../words', import.meta.url)) },
    ...(process.env.VITEST ? { conditions: ['browser'] } : {}),
  },
  worker: { format: 'es' },
  server: { fs: { allow: ['..'] } },
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    manifest: true, // for first.mjs; compress.mjs takes it away again
    emptyOutDir: false, // .gitkeep stays; clean.mjs takes the rest away
    rolldownOptions: { output: { codeSplitting: { groups: [first] } } },
  },
  test: { environment: 'happy-dom', include: ['src/**/*.test.ts'] },
});
