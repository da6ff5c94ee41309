import { svelte } from '@sveltejs/vite-plugin-svelte';
import { fileURLToPath } from 'node:url';
import { VitePWA } from 'vite-plugin-pwa';
import { defineConfig } from 'vitest/config';

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
        globPatterns: ['**/*.{html,js,css,wasm,svg,png,webmanifest}'],
        globIgnores: ['**/maplibre*'], // fetched by who has a map to show
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
    manifest: true, // for compress.mjs, which takes it away again
    emptyOutDir: false, // .gitkeep stays; clean.mjs takes the rest away
  },
  test: { environment: 'happy-dom', include: ['src/**/*.test.ts'] },
});
