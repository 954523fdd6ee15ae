import type { ComponentChildren, VNode } from 'preact';

/** Header of each page: its place in the site, and who is signed in. */
export const Head = ({
  reader,
  children,
}: {
  reader: { subject: string; isLocal: boolean };
  children?: ComponentChildren;
}): VNode => (
  <>
    <a class="skip" href="#main">
      Skip to content
    </a>
    <header class="head">
      <a class="brand" href="/">
        Drivebook
      </a>
      {children}
      <div class="reader">
        {reader.isLocal ? (
          <span>local use, without login</span>
        ) : (
          <form method="post" action="/sign-out" enctype="multipart/form-data">
            <input type="hidden" name="next" value="/sign-in" />
            <span>{reader.subject}</span> <button type="submit">Sign out</button>
          </form>
        )}
      </div>
    </header>
  </>
);

export const Foot = (): VNode => (
  <footer class="foot">
    <p>
      All figures come from the report views; the page calculates nothing. <a href="/docs">REST API</a> ·{' '}
      <a href="/docs/problems">Problems</a> · <a href="/graphql">GraphQL</a>
    </p>
  </footer>
);

/** A part of the page, named by its heading. */
export const Part = ({
  id,
  title,
  onScreen = false,
  children,
}: {
  id: string;
  title: string;
  /** Not printed. */
  onScreen?: boolean;
  children: ComponentChildren;
}): VNode => (
  <section class={onScreen ? 'part on-screen' : 'part'} aria-labelledby={id}>
    <h2 id={id}>{title}</h2>
    {children}
  </section>
);

export const Caution = ({ children }: { children: ComponentChildren }): VNode => (
  <p class="caution">{children}</p>
);
