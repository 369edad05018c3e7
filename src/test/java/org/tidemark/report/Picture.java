package org.tidemark.report;

import java.io.IOException;
import java.io.StringReader;
import java.io.UncheckedIOException;
import java.util.ArrayList;
import java.util.List;
import javax.xml.parsers.DocumentBuilderFactory;
import javax.xml.parsers.ParserConfigurationException;
import org.w3c.dom.Element;
import org.w3c.dom.NodeList;
import org.xml.sax.InputSource;
import org.xml.sax.SAXException;

/** An SVG as it was written, read back. */
final class Picture {
  /** A text that is shown. */
  record Words(String kind, double x, double y, String anchor, boolean bold, String words) {}

  final Element root;
  final double width;
  final double height;

  Picture(String svg) {
    try {
      root =
          DocumentBuilderFactory.newInstance()
              .newDocumentBuilder()
              .parse(new InputSource(new StringReader(svg)))
              .getDocumentElement();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } catch (SAXException | ParserConfigurationException e) {
      throw new IllegalArgumentException(svg, e);
    }
    String[] box = root.getAttribute("viewBox").split(" ");
    width = Double.parseDouble(box[2]);
    height = Double.parseDouble(box[3]);
  }

  /** Middle of the one circle of this kind, in units. */
  Svg.Spot circle(String kind) {
    List<Element> found =
        elements("circle").stream().filter(e -> e.getAttribute("class").equals(kind)).toList();
    if (found.size() != 1) {
      throw new IllegalArgumentException(found.size() + " circles " + kind);
    }
    return new Svg.Spot(number(found.get(0), "cx"), number(found.get(0), "cy"));
  }

  /** The same in metres, by what the picture says of its own scale. */
  Point joint(String kind) {
    Svg.Spot at = circle(kind);
    double scale = number(root, "data-scale");
    return new Point(
        (at.x() - number(root, "data-left")) / scale,
        (number(root, "data-floor") - at.y()) / scale);
  }

  /** The corners of all lines and areas of this kind, in units. */
  List<List<Svg.Spot>> outlines(String kind) {
    List<List<Svg.Spot>> all = new ArrayList<>();
    for (String name : List.of("polygon", "polyline")) {
      for (Element element : elements(name)) {
        if (kind.isEmpty() || element.getAttribute("class").equals(kind)) {
          List<Svg.Spot> spots = new ArrayList<>();
          for (String point : element.getAttribute("points").split(" ")) {
            String[] xy = point.split(",");
            spots.add(new Svg.Spot(Double.parseDouble(xy[0]), Double.parseDouble(xy[1])));
          }
          all.add(spots);
        }
      }
    }
    return all;
  }

  List<Words> words() {
    return elements("text").stream()
        .map(
            e ->
                new Words(
                    e.getAttribute("class"),
                    number(e, "x"),
                    number(e, "y"),
                    e.getAttribute("text-anchor"),
                    e.getAttribute("font-weight").equals("bold"),
                    e.getTextContent()))
        .toList();
  }

  String only(String name) {
    List<Element> found = elements(name);
    if (found.size() != 1) {
      throw new IllegalArgumentException(found.size() + " of " + name);
    }
    return found.get(0).getTextContent();
  }

  /** All that is drawn beyond the edges, in words. */
  List<String> outside() {
    List<String> outside = new ArrayList<>();
    for (List<Svg.Spot> outline : outlines("")) {
      outline.stream().filter(s -> !inside(s.x(), s.y(), 0)).forEach(s -> outside.add("" + s));
    }
    for (Element circle : elements("circle")) {
      double r = number(circle, "r");
      if (!inside(number(circle, "cx"), number(circle, "cy"), r)) {
        outside.add("circle " + circle.getAttribute("class"));
      }
    }
    for (Words text : words()) {
      double wide = TextWidth.of(text.words(), text.bold());
      double left =
          switch (text.anchor()) {
            case "start" -> text.x();
            case "end" -> text.x() - wide;
            default -> text.x() - wide / 2;
          };
      if (!inside(left, text.y(), 0) || !inside(left + wide, text.y() - 18, 0)) {
        outside.add(text + " is " + wide + " wide");
      }
    }
    return outside;
  }

  private boolean inside(double x, double y, double radius) {
    return x - radius >= 0 && x + radius <= width && y - radius >= 0 && y + radius <= height;
  }

  private List<Element> elements(String name) {
    NodeList nodes = root.getElementsByTagName(name);
    List<Element> all = new ArrayList<>();
    for (int i = 0; i < nodes.getLength(); i++) {
      all.add((Element) nodes.item(i));
    }
    return all;
  }

  private static double number(Element element, String name) {
    return Double.parseDouble(element.getAttribute(name));
  }
}
