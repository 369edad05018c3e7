package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.net.Inet4Address;
import java.net.Inet6Address;
import java.net.InetAddress;
import java.net.URI;
import java.net.URISyntaxException;
import java.net.UnknownHostException;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import org.eclipse.microprofile.config.inject.ConfigProperty;

/**
 * Keeps clients from making the service send requests into the clinic's own network (server-side
 * request forgery): an endpoint is reached by https and lies on a public address, unless its host
 * is allowed by a setting.
 */
@ApplicationScoped
public class EndpointGuard {
  private static final Pattern PLAIN = Pattern.compile("(?:(?:0|[1-9]\\d{0,2})(?:\\.|$)){4}");

  private final Set<String> allowed;

  EndpointGuard(
      @ConfigProperty(name = "tidemark.subscriptions.allowed-hosts")
          Optional<List<String>> allowed) {
    this.allowed =
        allowed.orElse(List.of()).stream()
            .map(host -> host.strip().toLowerCase(Locale.ROOT))
            .collect(Collectors.toSet());
  }

  /**
   * What a look at an endpoint has found.
   *
   * @param refusal why nothing is sent to it, a sentence; empty when it may be sent to
   * @param addresses where its host lies; none when that is not known now
   */
  public record Found(Optional<String> refusal, List<InetAddress> addresses) {
    private static Found refused(String why) {
      return new Found(Optional.of(why), List.of());
    }
  }

  /**
   * Looks an endpoint up. Who sends to it connects to one of the addresses that were found, so that
   * a name which leads elsewhere a moment later is of no use.
   *
   * @param endpoint the address
   */
  public Found find(String endpoint) {
    URI address;
    try {
      address = new URI(endpoint);
    } catch (URISyntaxException e) {
      return Found.refused("The endpoint is not an address.");
    }
    String host = address.getHost();
    if (host == null || address.getUserInfo() != null) {
      return Found.refused("The endpoint is an absolute address with a host and without a user.");
    }
    boolean known = allowed.contains(host.toLowerCase(Locale.ROOT));
    if (!"https".equals(address.getScheme()) && !(known && "http".equals(address.getScheme()))) {
      return Found.refused("The endpoint is reached by https.");
    }
    if (!known && isOwnOrNumber(host)) {
      return Found.refused("The endpoint is named by a public name or a plain address.");
    }
    List<InetAddress> addresses = addresses(host);
    return !known && addresses.stream().anyMatch(EndpointGuard::isPrivate)
        ? Found.refused("The endpoint does not lie on a public address.")
        : new Found(Optional.empty(), addresses);
  }

  /** The machine itself (RFC 6761, section 6.3), or a number that is not four plain ones. */
  private static boolean isOwnOrNumber(String host) {
    String name = host.toLowerCase(Locale.ROOT).replaceFirst("\\.$", "");
    String last = name.substring(name.lastIndexOf('.') + 1);
    return last.equals("localhost")
        || (last.matches("0x[0-9a-f]*|\\d+") && !PLAIN.matcher(name).matches());
  }

  private static List<InetAddress> addresses(String host) {
    try {
      return List.of(InetAddress.getAllByName(host));
    } catch (UnknownHostException notNow) {
      return List.of();
    }
  }

  /** Addresses that are not reached over the public Internet (RFC 6890 and its successors). */
  static boolean isPrivate(InetAddress address) {
    if (address.isAnyLocalAddress()
        || address.isLoopbackAddress()
        || address.isLinkLocalAddress()
        || address.isSiteLocalAddress()
        || address.isMulticastAddress()) {
      return true;
    }
    byte[] bytes = address.getAddress();
    int first = bytes[0] & 0xff;
    int second = bytes[1] & 0xff;
    if (address instanceof Inet4Address) {
      return first == 0
          || (first == 100 && second >= 64 && second < 128)
          || (first == 192 && second == 0)
          || (first == 198 && (second == 18 || second == 19))
          || first >= 240;
    }
    // Only global unicast is 2000::/3; what embeds an IPv4 address could lead anywhere.
    boolean embeds =
        (first == 0x20 && second == 0x02)
            || (first == 0x20 && second == 0x01 && bytes[2] == 0 && bytes[3] == 0);
    return address instanceof Inet6Address && ((first & 0xe0) != 0x20 || embeds);
  }
}
