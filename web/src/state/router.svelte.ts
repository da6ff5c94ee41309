// Where in the app a person is. Pages are addresses, so that back, reload and a
// link do what people expect of them.

export interface Place {
  path: string;
  search: URLSearchParams;
}

/** The parts of an address that match a pattern such as "/visit/:visit/tree/:tree". */
export function match(pattern: string, path: string): Record<string, string> | null {
  const [want, have] = [pattern.split('/'), path.replace(/(.)\/$/, '$1').split('/')];
  if (want.length !== have.length) return null;
  const found: Record<string, string> = {};
  for (const [i, part] of want.entries()) {
    const value = have[i]!;
    if (part.startsWith(':') && value) found[part.slice(1)] = decodeURIComponent(value);
    else if (part !== value) return null;
  }
  return found;
}

export class Router {
  path = $state('/');
  search = $state(new URLSearchParams());
  #window: Window | null;

  constructor(window: Window | null) {
    this.#window = window;
    this.#read();
    window?.addEventListener('popstate', () => this.#read());
  }

  go(to: string, { replace = false } = {}): void {
    if (this.#window) {
      this.#window.history[replace ? 'replaceState' : 'pushState'](null, '', to);
      this.#read();
      this.#window.scrollTo(0, 0);
      return;
    }
    const [path = '/', search] = to.split('?');
    this.path = path;
    this.search = new URLSearchParams(search);
  }

  /** For links: stays in the app on a plain click. */
  follow = (event: MouseEvent): void => {
    const link = event.currentTarget as HTMLAnchorElement;
    if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey)
      return;
    event.preventDefault();
    this.go(link.getAttribute('href')!);
  };

  #read(): void {
    if (!this.#window) return;
    this.path = this.#window.location.pathname;
    this.search = new URLSearchParams(this.#window.location.search);
  }
}
