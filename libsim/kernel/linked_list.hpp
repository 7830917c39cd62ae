#pragma once

namespace farrowtide {

/// A link of an intrusive circular list: part of the object it links, and unlinked when that object is destroyed.
class Link {
 public:
  Link() = default;
  Link(const Link&) = delete;
  Link& operator=(const Link&) = delete;
  ~Link() { unlink(); }

  bool linked() const { return next_ != this; }

  void unlink() {
    previous_->next_ = next_;
    next_->previous_ = previous_;
    previous_ = next_ = this;
  }

  void insert_before(Link& place) {
    previous_ = place.previous_;
    next_ = &place;
    previous_->next_ = next_->previous_ = this;
  }

  /// Takes the place of `other`, which ends up unlinked.
  void replace(Link& other) {
    if (!other.linked()) return;
    insert_before(other);
    other.unlink();
  }

  Link* next() const { return next_; }
  Link* previous() const { return previous_; }

 private:
  Link* previous_ = this;
  Link* next_ = this;
};

/// A list of objects derived from Link, which it does not own.
template <class T>
class LinkedList {
 public:
  LinkedList() = default;
  ~LinkedList() {
    while (!empty()) ends_.next()->unlink();
  }
  LinkedList(const LinkedList&) = delete;
  LinkedList& operator=(const LinkedList&) = delete;

  bool empty() const { return !ends_.linked(); }
  T& front() { return static_cast<T&>(*ends_.next()); }
  const T& front() const { return static_cast<const T&>(*ends_.next()); }
  void append(T& item) { static_cast<Link&>(item).insert_before(ends_); }

  /// Inserts behind the last item that does not come after the new one; `precedes(a, b)` is a strict order.
  template <class Precedes>
  void insert_sorted(T& item, Precedes precedes) {
    Link* place = &ends_;
    while (place->previous() != &ends_ && precedes(item, static_cast<T&>(*place->previous())))
      place = place->previous();
    static_cast<Link&>(item).insert_before(*place);
  }

  template <class Visit>
  void for_each(Visit visit) const {
    for (Link* link = ends_.next(); link != &ends_; link = link->next()) visit(static_cast<T&>(*link));
  }

 private:
  Link ends_;
};

}  // namespace farrowtide
