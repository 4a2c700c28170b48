using System.Text.Json;
using System.Text.Json.Serialization;
using Hindbeat.Performances;

namespace Hindbeat.Studies;

/// <summary>
/// Stores a doubt as the name of its type, its sentence and its values, and makes the same type again. When the
/// type is gone or has changed, the sentence is kept: a doubt must not be lost with a version.
/// </summary>
internal sealed class DoubtConverter : JsonConverter<Doubt>
{
    /// <summary>Only the engine's own doubts can be named by a file.</summary>
    private static readonly Dictionary<string, Type> Kinds = typeof(DoubtConverter).Assembly.GetTypes()
        .Where(type => type.IsSubclassOf(typeof(Doubt)) && !type.IsAbstract && type != typeof(KeptDoubt))
        .ToDictionary(type => type.Name);

    public override Doubt Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        using JsonDocument json = JsonDocument.ParseValue(ref reader);
        string kind = json.RootElement.GetProperty("kind").GetString() ?? "";
        string text = json.RootElement.GetProperty("text").GetString() ?? "";
        if (!Kinds.TryGetValue(kind, out Type? type) || !json.RootElement.TryGetProperty("values", out JsonElement values))
            return new KeptDoubt(kind, text);
        try
        {
            return (Doubt?)values.Deserialize(type, options) ?? new KeptDoubt(kind, text);
        }
        catch (Exception e) when (e is JsonException or NotSupportedException or ArgumentException or FormatException)
        {
            return new KeptDoubt(kind, text);
        }
    }

    public override void Write(Utf8JsonWriter writer, Doubt value, JsonSerializerOptions options)
    {
        writer.WriteStartObject();
        writer.WriteString("kind", value is KeptDoubt kept ? kept.Kind : value.GetType().Name);
        writer.WriteString("text", value.Text);
        if (value is not KeptDoubt)
        {
            writer.WritePropertyName("values");
            JsonSerializer.Serialize(writer, value, value.GetType(), options);
        }

        writer.WriteEndObject();
    }
}
