//! The fields of typed values as bytes, for [`Inputs::typed`](super::Inputs::typed).
//!
//! Two values of one type with the same bytes are alike but for their places: texts and lists say
//! where they end, and which variant a value is stands before its fields.

use std::fmt::Error as Refused;

use serde::ser::{self, Serialize, Serializer};

use super::digest::{Indexes, Named};

/// The bytes, and what the value names by index.
pub(super) fn fields(value: &(impl Serialize + ?Sized), named: &Named) -> (Vec<u8>, Indexes) {
    let mut laid = Laid {
        out: Vec::new(),
        named,
        seen: Indexes::default(),
    };
    let done = value.serialize(&mut laid);
    debug_assert!(done.is_ok(), "types of a pack derive how they are written");
    (laid.out, laid.seen)
}

struct Laid<'a> {
    out: Vec<u8>,
    named: &'a Named,
    seen: Indexes,
}

impl Laid<'_> {
    fn count(&mut self, count: usize) {
        self.out.extend_from_slice(&(count as u64).to_le_bytes());
    }

    fn text(&mut self, text: &str) {
        self.count(text.len());
        self.out.extend_from_slice(text.as_bytes());
    }
}

/// Before each item of a list, and after the last.
const ITEM: u8 = 1;
const END: u8 = 0;

macro_rules! number {
    ($($name:ident: $kind:ty),*) => {
        $(fn $name(self, number: $kind) -> Result<(), Refused> {
            self.out.extend_from_slice(&number.to_le_bytes());
            Ok(())
        })*
    };
}

impl Serializer for &mut Laid<'_> {
    type Ok = ();
    type Error = Refused;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Fields<Self>;
    type SerializeStructVariant = Fields<Self>;

    number!(
        serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64,
        serialize_f32: f32, serialize_f64: f64
    );

    fn is_human_readable(&self) -> bool {
        false
    }

    fn serialize_bool(self, yes: bool) -> Result<(), Refused> {
        self.serialize_u8(u8::from(yes))
    }

    fn serialize_char(self, letter: char) -> Result<(), Refused> {
        self.serialize_u32(u32::from(letter))
    }

    fn serialize_str(self, text: &str) -> Result<(), Refused> {
        self.text(text);
        Ok(())
    }

    fn serialize_bytes(self, bytes: &[u8]) -> Result<(), Refused> {
        self.count(bytes.len());
        self.out.extend_from_slice(bytes);
        Ok(())
    }

    fn serialize_none(self) -> Result<(), Refused> {
        self.serialize_u8(END)
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Refused> {
        self.out.push(ITEM);
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Refused> {
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), Refused> {
        Ok(())
    }

    fn serialize_unit_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
    ) -> Result<(), Refused> {
        self.serialize_u32(variant)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        name: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        let begin = self.out.len();
        value.serialize(&mut *self)?;
        let (list, noted) = match name {
            "RigId" => (&self.named.rigs, &mut self.seen.rigs),
            "LessonId" => (&self.named.lessons, &mut self.seen.lessons),
            "KitId" => (&self.named.kit, &mut self.seen.kit),
            _ => return Ok(()),
        };
        let Ok(index) = <[u8; 8]>::try_from(&self.out[begin..]) else {
            return Ok(());
        };
        let index = u64::from_le_bytes(index) as usize;
        noted.insert(index);
        if let Some(digest) = list.get(index) {
            self.out.truncate(begin);
            self.out.extend_from_slice(&digest.0);
        }
        Ok(())
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        self.serialize_u32(variant)?;
        value.serialize(self)
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, Refused> {
        self.serialize_u32(variant)?;
        Ok(self)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_struct(self, name: &'static str, _: usize) -> Result<Fields<Self>, Refused> {
        Ok(Fields {
            to: self,
            place: name == "Place",
        })
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Fields<Self>, Refused> {
        self.serialize_u32(variant)?;
        Ok(Fields {
            to: self,
            place: false,
        })
    }
}

impl ser::SerializeSeq for &mut Laid<'_> {
    type Ok = ();
    type Error = Refused;

    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        self.out.push(ITEM);
        value.serialize(&mut **self)
    }

    fn end(self) -> Result<(), Refused> {
        self.serialize_u8(END)
    }
}

impl ser::SerializeMap for &mut Laid<'_> {
    type Ok = ();
    type Error = Refused;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), Refused> {
        self.out.push(ITEM);
        key.serialize(&mut **self)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        value.serialize(&mut **self)
    }

    fn end(self) -> Result<(), Refused> {
        self.serialize_u8(END)
    }
}

macro_rules! in_order {
    ($($kind:ident: $method:ident),*) => {
        $(impl ser::$kind for &mut Laid<'_> {
            type Ok = ();
            type Error = Refused;

            fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
                value.serialize(&mut **self)
            }

            fn end(self) -> Result<(), Refused> {
                Ok(())
            }
        })*
    };
}

in_order!(
    SerializeTuple: serialize_element,
    SerializeTupleStruct: serialize_field,
    SerializeTupleVariant: serialize_field
);

/// The fields of a struct; those of a place are left out.
struct Fields<L> {
    to: L,
    place: bool,
}

macro_rules! by_name {
    ($($kind:ident),*) => {
        $(impl ser::$kind for Fields<&mut Laid<'_>> {
            type Ok = ();
            type Error = Refused;

            fn serialize_field<T: Serialize + ?Sized>(
                &mut self,
                _: &'static str,
                value: &T,
            ) -> Result<(), Refused> {
                match self.place {
                    true => Ok(()),
                    false => value.serialize(&mut *self.to),
                }
            }

            fn end(self) -> Result<(), Refused> {
                Ok(())
            }
        })*
    };
}

by_name!(SerializeStruct, SerializeStructVariant);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::Digest;
    use crate::finding::Place;
    use crate::pack::{FigureAsk, KitId, KitUse, LessonId, RigId};

    fn of(value: &impl Serialize) -> Vec<u8> {
        fields(value, &Named::default()).0
    }

    fn place(start: usize) -> Place {
        Place {
            file: 3,
            start,
            end: start + 1,
        }
    }

    #[test]
    fn places_do_not_count_and_everything_else_does() {
        let ask = |rig, start| FigureAsk {
            rig: RigId(rig),
            kinds: Vec::new(),
            caption: None,
            place: place(start),
        };
        assert_eq!(of(&ask(1, 1)), of(&ask(1, 700)));
        assert_ne!(of(&ask(1, 1)), of(&ask(2, 1)));
        // Neighbours do not run into one another.
        assert_ne!(of(&("ab", "c")), of(&("a", "bc")));
        assert_ne!(
            of(&(vec![1_u8], vec![2_u8, 3])),
            of(&(vec![1_u8, 2], vec![3_u8]))
        );
        assert_ne!(of(&(Some(1_u8), None::<u8>)), of(&(None::<u8>, Some(1_u8))));
        assert_ne!(of(&0.0_f64), of(&-0.0_f64));
    }

    #[test]
    fn an_index_is_what_it_names() {
        let list = |texts: &[&str]| texts.iter().map(|t| Digest::of(t.as_bytes())).collect();
        let before = Named {
            rigs: list(&["x", "y"]),
            kit: list(&["k"]),
            ..Named::default()
        };
        let after = Named {
            rigs: list(&["new", "x", "y"]),
            kit: list(&["other"]),
            ..Named::default()
        };
        let kit = KitUse {
            item: KitId(0),
            count: 2,
        };
        let bytes = |value: &RigId, named| fields(value, named).0;
        assert_eq!(bytes(&RigId(1), &before), bytes(&RigId(2), &after));
        assert_ne!(bytes(&RigId(1), &before), bytes(&RigId(1), &after));
        assert_ne!(fields(&kit, &before).0, fields(&kit, &after).0);
    }

    #[test]
    fn indexes_are_found() {
        let value = (
            RigId(3),
            [KitId(1), KitId(2)],
            LessonId(9),
            vec![Some(RigId(12))],
        );
        let want = Indexes {
            rigs: [3, 12].into(),
            lessons: [9].into(),
            kit: [1, 2].into(),
        };
        assert_eq!(fields(&value, &Named::default()).1, want);
    }
}
