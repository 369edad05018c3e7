package org.tidemark.fhir;

import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.utilities.xhtml.NodeType;
import org.hl7.fhir.utilities.xhtml.XhtmlNode;

/**
 * Refuses narratives with content that does something: other elements than R4's constraint txt-1
 * allows (formatting, lists, tables, links and images), handlers of events, addresses that a
 * browser would run or that carry their content with them, and styles that fetch.
 */
public final class NarrativeCheck {
  private static final Set<String> ELEMENTS =
      Set.of(
          ("a abbr acronym address area b bdo big blockquote br caption cite code col colgroup dd"
                  + " del dfn div dl dt em h1 h2 h3 h4 h5 h6 hr i img ins kbd li map ol p pre q s"
                  + " samp small span strike strong sub sup table tbody td tfoot th thead tr tt u"
                  + " ul var")
              .split(" "));

  private static final Set<String> ADDRESSES =
      Set.of("href", "src", "cite", "longdesc", "background", "usemap");

  private static final Set<String> SCHEMES = Set.of("http", "https", "mailto", "tel", "urn");

  private NarrativeCheck() {}

  /**
   * Refuses a resource whose narrative, or that of what it contains, does something.
   *
   * @throws Problem which names the narrative and what stands in it
   */
  public static void require(Resource resource) {
    if (resource instanceof DomainResource holder) {
      require(holder, holder.fhirType());
      for (int i = 0; i < holder.getContained().size(); i++) {
        if (holder.getContained().get(i) instanceof DomainResource contained) {
          require(contained, holder.fhirType() + ".contained[" + i + "]");
        }
      }
    }
  }

  private static void require(DomainResource holder, String path) {
    if (holder.hasText() && holder.getText().hasDiv()) {
      fault(holder.getText().getDiv())
          .ifPresent(
              fault -> {
                throw Problem.of(
                    Problem.Kind.NOT_VALID,
                    "A narrative is text, tables, links and images; it cannot have " + fault + ".",
                    path + ".text.div");
              });
    }
  }

  private static Optional<String> fault(XhtmlNode node) {
    if (node.getNodeType() == NodeType.Element) {
      String name = node.getName().toLowerCase(Locale.ROOT);
      if (!ELEMENTS.contains(name)) {
        return Optional.of("<" + name + ">");
      }
      for (Map.Entry<String, String> attribute : node.getAttributes().entrySet()) {
        if (acts(attribute.getKey().toLowerCase(Locale.ROOT), attribute.getValue())) {
          return Optional.of("<" + name + "> with this " + attribute.getKey());
        }
      }
    }
    return node.getChildNodes().stream().flatMap(child -> fault(child).stream()).findFirst();
  }

  private static boolean acts(String name, String value) {
    String plain = value == null ? "" : value.replaceAll("[\\p{Cntrl}\\s]", "");
    String lower = plain.toLowerCase(Locale.ROOT);
    return name.startsWith("on")
        || (name.equals("style") && (lower.contains("url(") || lower.contains("expression(")))
        || (ADDRESSES.contains(name) && !isHarmless(lower));
  }

  /** Whether an address is within the document, relative, or of a scheme that only leads there. */
  private static boolean isHarmless(String address) {
    int colon = address.indexOf(':');
    boolean relative = colon < 0 || address.substring(0, colon).matches(".*[/?#].*");
    return relative || SCHEMES.contains(address.substring(0, colon));
  }
}
