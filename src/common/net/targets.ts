import { lookup as systemLookup, type LookupAddress } from 'node:dns';
import { isIP, type LookupFunction } from 'node:net';
import ipaddr from 'ipaddr.js';

type Address = ipaddr.IPv4 | ipaddr.IPv6;
type Network = [Address, number];

/** IANA's range for IPv6 unicast; the rest, such as IPv4-compatible addresses, is reserved. */
const GLOBAL_V6 = ipaddr.IPv6.parseCIDR('2000::/3');

/** An address as used on the wire: an IPv4-mapped IPv6 address is IPv4. */
const addressOf = (text: string): Address | undefined =>
  isIP(text.replace(/%.*$/, '')) === 0 ? undefined : ipaddr.process(text.replace(/%.*$/, ''));

/**
 * Whether the address is public: neither private, loopback, link-local, multicast, shared (RFC 6598), nor reserved or translated to
 * another (6to4, Teredo, NAT64).
 * Source: the IANA registries of special-purpose addresses (RFC 6890), as in ipaddr.js.
 */
export const isPublicAddress = (text: string): boolean => {
  const address = addressOf(text);
  if (address?.range() !== 'unicast') return false;
  return address.kind() === 'ipv4' || (address as ipaddr.IPv6).match(GLOBAL_V6);
};

const HOST = /^(?!.*\.\.)[a-z0-9_]([a-z0-9_.-]{0,252})$/;

const networkOf = (entry: string): Network | undefined => {
  if (ipaddr.isValidCIDR(entry)) return ipaddr.parseCIDR(entry);
  const address = addressOf(entry);
  return address && [address, address.kind() === 'ipv4' ? 32 : 128];
};

/** Whether a text names a host, an address or a network. */
export const isTarget = (entry: string): boolean =>
  networkOf(entry) !== undefined || (HOST.test(entry) && !/^[\d.]+$/.test(entry));

/** The name of a host for comparison: without brackets and trailing dot. */
const nameOf = (hostname: string): string => hostname.toLowerCase().replace(/^\[|\]$|\.$/g, '');

const URL_FORM = /^https?:\/\/[^\s/?#@\\]+([/?][^\s#\\]*)?$/;

/** A connection was refused: the host is not on the public internet. */
export class RefusedTarget extends Error {
  readonly code = 'REFUSED_TARGET';

  constructor(host: string) {
    super(`${host} has an address in a private or reserved network`); // the address itself is not disclosed
  }
}

/** Concurrent name lookups: each occupies one of the few threads that Node also uses for files. */
const LOOKUPS = 2;

type Resolve = (
  hostname: string,
  options: { all: true },
  callback: (error: NodeJS.ErrnoException | null, addresses: LookupAddress[]) => void,
) => void;

/** Where the service may connect on behalf of a user: the public internet, and exceptions named by the operator. */
export class Targets {
  private readonly hosts: ReadonlySet<string>;
  private readonly networks: Network[];
  private readonly waiting: (() => void)[] = [];
  private looking = 0;

  /**
   * @param allowed  hosts, addresses and networks that need not be public
   * @param resolve  resolves a name to addresses
   */
  constructor(
    allowed: readonly string[],
    private readonly resolve: Resolve = systemLookup,
  ) {
    this.networks = allowed.map(networkOf).filter((network) => network !== undefined);
    this.hosts = new Set(allowed.filter((entry) => networkOf(entry) === undefined).map(nameOf));
  }

  /** Why messages cannot be sent to a URL, as far as the URL itself shows; undefined: they can. */
  faultOf(text: string): string | undefined {
    if (!URL_FORM.test(text) || !URL.canParse(text))
      return 'must be a URL that begins with https:// and has neither user nor fragment';
    const { protocol, hostname, port } = new URL(text);
    if (port === '0') return 'must name another port than 0';
    const name = nameOf(hostname);
    if (protocol === 'http:' && !this.isNamed(name))
      return 'must be an https URL: http is for hosts and networks that the operator has allowed (WEBHOOK_ALLOWED_TARGETS)';
    const isRefused = isIP(name) ? !this.allows(name) : /(^|\.)localhost$/.test(name) && !this.isNamed(name);
    return isRefused
      ? 'must lead to the public internet, or to a host or network that the operator has allowed (WEBHOOK_ALLOWED_TARGETS)'
      : undefined;
  }

  /** Whether connecting to an address is allowed. */
  allows(address: string): boolean {
    return isPublicAddress(address) || this.isInNetwork(address);
  }

  /** Whether the operator has allowed the host, so that its addresses need not be public. */
  isNamed(hostname: string): boolean {
    const name = nameOf(hostname);
    return this.hosts.has(name) || this.isInNetwork(name);
  }

  /**
   * Lookup for a connection: the checked addresses are the ones used, so a name cannot be redirected between check and connection.
   * If one of several addresses is not allowed, all are refused.
   */
  readonly lookup: LookupFunction = (hostname, options, callback) => {
    this.inTurn((done) =>
      this.resolve(hostname, { ...options, all: true }, (error, addresses) => {
        done();
        if (error) callback(error, '');
        else if (addresses.length === 0)
          callback(Object.assign(new Error('no address'), { code: 'ENOTFOUND' }), '');
        else if (!this.isNamed(hostname) && !addresses.every(({ address }) => this.allows(address)))
          callback(new RefusedTarget(hostname), '');
        else if (options.all) callback(null, addresses);
        else callback(null, addresses[0]?.address ?? '', addresses[0]?.family);
      }),
    );
  };

  private isInNetwork(text: string): boolean {
    const address = addressOf(text);
    return (
      address !== undefined &&
      this.networks.some(
        ([base, bits]) => base.kind() === address.kind() && address.match(base as never, bits),
      )
    );
  }

  private inTurn(look: (done: () => void) => void): void {
    const begin = (): void => {
      this.looking += 1;
      look(() => {
        this.looking -= 1;
        this.waiting.shift()?.();
      });
    };
    if (this.looking < LOOKUPS) begin();
    else this.waiting.push(begin);
  }
}
