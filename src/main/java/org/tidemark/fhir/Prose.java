package org.tidemark.fhir;

import java.util.List;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.utilities.xhtml.NodeType;
import org.hl7.fhir.utilities.xhtml.XhtmlNode;

/** Builds a narrative from text alone; whatever is passed in is text and never markup. */
final class Prose {
  private final XhtmlNode div;

  Prose(Texts texts) {
    div =
        new XhtmlNode(NodeType.Element, "div")
            .setAttribute("xmlns", XhtmlNode.XMLNS)
            .setAttribute("lang", texts.language())
            .setAttribute("xml:lang", texts.language());
  }

  Prose title(String text) {
    div.addTag("h2").addText(text);
    return this;
  }

  Prose heading(String text) {
    div.addTag("h3").addText(text);
    return this;
  }

  Prose paragraph(String text) {
    div.addTag("p").addText(text);
    return this;
  }

  /** A paragraph that must not be overlooked. */
  Prose alert(String text) {
    div.addTag("p").addTag("b").addText(text);
    return this;
  }

  /** A paragraph that begins with a word that stands out. */
  Prose labelled(String label, String text) {
    XhtmlNode paragraph = div.addTag("p");
    paragraph.addTag("b").addText(label);
    paragraph.addText(" " + text);
    return this;
  }

  /** A list; nothing when it is empty. */
  Prose list(List<String> items) {
    if (!items.isEmpty()) {
      XhtmlNode list = div.addTag("ul");
      items.forEach(item -> list.addTag("li").addText(item));
    }
    return this;
  }

  /** A list of things with a name that stands out, each with lines below it. */
  Prose named(List<Named> items) {
    XhtmlNode list = div.addTag("ul");
    for (Named item : items) {
      XhtmlNode entry = list.addTag("li");
      entry.addTag("b").addText(item.name());
      for (String line : item.lines()) {
        entry.addTag("br");
        entry.addText(line);
      }
    }
    return this;
  }

  Narrative narrative() {
    Narrative narrative = new Narrative();
    narrative.setStatus(Narrative.NarrativeStatus.GENERATED);
    narrative.setDiv(div);
    return narrative;
  }

  /** Something with a name and lines about it. */
  record Named(String name, List<String> lines) {}
}
