package org.tidemark.fhir;

import java.io.ByteArrayInputStream;
import java.util.ArrayList;
import java.util.List;
import javax.xml.stream.XMLInputFactory;
import javax.xml.stream.XMLStreamConstants;
import javax.xml.stream.XMLStreamException;
import javax.xml.stream.XMLStreamReader;

/**
 * Reads XML into {@link Sent}: in FHIR's namespace, without a document type, so that no entity is
 * ever looked up, and to a stated depth.
 */
final class SentXml {
  private static final String FHIR = "http://hl7.org/fhir";
  private static final String XHTML = "http://www.w3.org/1999/xhtml";

  private static final XMLInputFactory FACTORY = factory();

  private SentXml() {}

  private static XMLInputFactory factory() {
    XMLInputFactory factory = XMLInputFactory.newDefaultFactory();
    factory.setProperty(XMLInputFactory.SUPPORT_DTD, false);
    factory.setProperty(XMLInputFactory.IS_SUPPORTING_EXTERNAL_ENTITIES, false);
    factory.setProperty(XMLInputFactory.IS_COALESCING, true);
    return factory;
  }

  static Sent read(byte[] body, int most) {
    try {
      XMLStreamReader xml = FACTORY.createXMLStreamReader(new ByteArrayInputStream(body));
      try {
        while (xml.next() != XMLStreamConstants.START_ELEMENT) {
          if (xml.getEventType() == XMLStreamConstants.DTD) {
            throw Problem.of(
                Problem.Kind.MALFORMED, "The body has a document type (DOCTYPE); that is refused.");
          }
        }
        String type = xml.getLocalName();
        Sent element = element(xml, 1, most);
        while (xml.hasNext()) {
          xml.next();
        }
        return new Sent("", type, Sent.Kind.OBJECT, false, null, element.children());
      } finally {
        xml.close();
      }
    } catch (XMLStreamException e) {
      throw Problem.of(
          Problem.Kind.MALFORMED,
          e.getLocation() == null
              ? "The body is not valid XML."
              : "The body is not valid XML (line %d, column %d)."
                  .formatted(e.getLocation().getLineNumber(), e.getLocation().getColumnNumber()));
    }
  }

  private static Sent element(XMLStreamReader xml, int depth, int most) throws XMLStreamException {
    if (depth > most) {
      throw Problem.of(Problem.Kind.MALFORMED, "The body nests more than " + most + " deep.");
    }
    String name = xml.getLocalName();
    if (XHTML.equals(xml.getNamespaceURI())) {
      skip(xml, depth, most);
      return new Sent(name, null, Sent.Kind.XHTML, false, null, List.of());
    }
    if (!FHIR.equals(xml.getNamespaceURI())) {
      throw Problem.of(
          Problem.Kind.MALFORMED, "The element " + name + " is not in the namespace " + FHIR + ".");
    }
    String value = null;
    List<Sent> children = new ArrayList<>();
    for (int i = 0; i < xml.getAttributeCount(); i++) {
      if (xml.getAttributeNamespace(i) != null && !xml.getAttributeNamespace(i).isEmpty()) {
        continue;
      }
      if (xml.getAttributeLocalName(i).equals("value")) {
        value = xml.getAttributeValue(i);
      } else {
        children.add(
            new Sent(
                xml.getAttributeLocalName(i),
                null,
                Sent.Kind.ATTRIBUTE,
                false,
                xml.getAttributeValue(i),
                List.of()));
      }
    }
    while (xml.next() != XMLStreamConstants.END_ELEMENT) {
      if (xml.getEventType() == XMLStreamConstants.START_ELEMENT) {
        children.add(element(xml, depth + 1, most));
      } else if (xml.hasText()
          && !xml.isWhiteSpace()
          && xml.getEventType() != XMLStreamConstants.COMMENT) {
        throw Problem.of(
            Problem.Kind.MALFORMED,
            "The element " + name + " holds text; use the attribute value.");
      }
    }
    return holder(new Sent(name, null, Sent.Kind.OBJECT, false, value, children));
  }

  /** An element whose only child has a type's name holds a resource. */
  private static Sent holder(Sent element) {
    if (element.children().size() == 1) {
      Sent only = element.children().get(0);
      if (Character.isUpperCase(only.name().charAt(0))) {
        return new Sent(
            element.name(), only.name(), Sent.Kind.OBJECT, false, null, only.children());
      }
    }
    return element;
  }

  private static void skip(XMLStreamReader xml, int depth, int most) throws XMLStreamException {
    int open = 1;
    while (open > 0) {
      int event = xml.next();
      if (event == XMLStreamConstants.START_ELEMENT) {
        open++;
        if (depth + open > most) {
          throw Problem.of(Problem.Kind.MALFORMED, "The body nests more than " + most + " deep.");
        }
      } else if (event == XMLStreamConstants.END_ELEMENT) {
        open--;
      }
    }
  }
}
